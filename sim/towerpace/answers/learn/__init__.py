"""What the site has shown so far: how fast each trade works, how its items scatter, and rates of loss."""
