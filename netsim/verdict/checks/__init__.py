"""Every limit once: each rule gives value, limit and used fraction over all networks."""

from netsim.verdict.checks.every import BY_NETWORK, WHATEVER_THE_PLATE_CURRENT, checks

__all__ = ["BY_NETWORK", "WHATEVER_THE_PLATE_CURRENT", "checks"]
