"""Files for other programs: JSON, CSV, netlist, Touchstone."""
