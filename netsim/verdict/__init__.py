"""Stress, ratings, limits and findings."""
