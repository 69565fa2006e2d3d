"""The forecast while the site runs: from what is recorded, learned and measured up to a data date."""
