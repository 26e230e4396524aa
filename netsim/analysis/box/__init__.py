"""The box around the network, walked after the network itself."""
