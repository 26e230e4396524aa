"""The plate supply over time, twice: ngspice, and an integration of its own."""
