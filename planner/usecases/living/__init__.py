"""What the commands of the living job do: log what happened, plan what is left."""
