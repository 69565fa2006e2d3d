"""From the scenario to the plan: fronts, sequence, logistics and windows become steps and pools."""
