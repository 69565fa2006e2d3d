"""What a site's log says of the minutes, losses and moves of its work, as numbers for the next scenario."""
