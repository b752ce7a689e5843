"""Physics by the noun: units, geodesy, atmosphere, magnetics and turning flight. Pure functions, SI and radians."""
