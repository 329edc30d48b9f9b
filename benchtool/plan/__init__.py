"""What happens when: the forward schedule against shop hours."""
