"""Starting: what every key means, a first scenario from a dozen answers, and the demo to copy."""
