"""The tube: its law, its constants from curves, bias and drive."""
