"""What leaves the bench on paper or as text."""
