"""Pictures of flights, as figures and as SVG: plan, profile, final approach, strips."""
