"""Studies of what one factor does to the force system, and comparisons of whole appliances."""
