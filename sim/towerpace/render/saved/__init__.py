"""A results folder as it is read: tables, manifest, and the commands it names."""
