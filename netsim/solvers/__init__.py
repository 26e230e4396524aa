"""Solvers that share element values and the solution type, and nothing else."""
