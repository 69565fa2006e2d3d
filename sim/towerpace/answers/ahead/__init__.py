"""The weeks ahead of a running site."""
