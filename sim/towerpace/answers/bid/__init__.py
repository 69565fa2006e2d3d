"""What a bid duration is worth: contingency, drivers, allowance, convergence."""
