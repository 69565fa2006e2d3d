"""How busy every resource is week by week, what is waited for, and where the panels stand."""
