"""What is asked while the site runs."""
