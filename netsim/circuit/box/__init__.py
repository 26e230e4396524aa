"""The box around the network: input network, supply, way of the heat, panel meters. Plain floats and arrays."""
