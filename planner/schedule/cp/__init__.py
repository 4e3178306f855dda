"""The solver's model: variables, one function for each rule, aims."""
