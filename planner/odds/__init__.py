"""How sure a plan's dates are: many futures of it, played by the policy of the crew."""
