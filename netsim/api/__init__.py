"""The public shell: what ``import netsim`` hands on, each name from its module."""
