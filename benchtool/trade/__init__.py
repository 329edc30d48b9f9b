"""What the trade knows, as pure functions: no Qt, no clock, no file."""
