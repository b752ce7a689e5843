"""Pure functions of units, geodesy, gravity, atmosphere, magnetics, wind and turning flight, in SI units and radians."""
