"""An invented procedure that charts all that a procedure file can, as the text of a file."""

__all__ = ["RICH"]

RICH = """
title = "Wendle Island VOR 24"
category = "B"

[fix]
name = "WND"
kind = "vor"
latitude_deg = 47.25
longitude_deg = -31.5
elevation_ft = 120
variation_deg_east = -9.0

[reversal]
kind = "base-turn"
turn = "right"
outbound_course_deg = 45
inbound_course_deg = 241
within_nm = 10
within_by = "dme"
maximum_speed_kias = 170
leg_time_s = 120
maximum_time_s = 180
leg_length_nm = 7.5
leg_by = "dme"
entry_within_deg = 30

[guidance]
kind = "localizer"
variation_deg_east = -8.0

[altitudes]
arrival_ft = 3000
outbound_ft = 3000
outbound_maximum_ft = 3000
reversal_ft = 2200
reversal_maximum_ft = 4000
inbound_ft = 2200

[runway]
name = "24"
threshold_latitude_deg = 47.1597
threshold_longitude_deg = -31.6765
threshold_elevation_ft = 40
true_heading_deg = 232.5
length_ft = 7000

[missed_approach]
time_s = 168
time_at_kt = 90
climb_ft = 1200
turn = "right"
to = "WND"
altitude_ft = 3000

[speeds]
outbound = 110
inbound = 100
final = 90

[dme]
name = "WNE"
latitude_deg = 47.1597
longitude_deg = -31.6765
elevation_ft = 60

[[fixes]]
name = "TARRO"
role = "final-approach-fix"
distance_nm = 4.2
minimum_ft = 2100
maximum_ft = 3000

[[fixes]]
name = "KESTA"
role = "step-down"
dme_nm = 2.5
course_deg = 241
minimum_ft = 1300

[[fixes]]
name = "MAPAR"
role = "missed-approach-point"
latitude_deg = 47.16575
longitude_deg = -31.6647

[[minimums]]
line = "straight-in"
category = "A-B"
kind = "mda"
altitude_ft = 640
visual_descent_point_nm = 1.6

[[minimums]]
line = "straight-in"
category = "C-D"
kind = "mda"
altitude_ft = 760

[[minimums]]
line = "circling"
kind = "mda"
altitude_ft = 900

[[holds]]
name = "WND"
role = "missed-approach"
inbound_course_deg = 241
turn = "right"
leg_time_s = 60
minimum_ft = 3000
maximum_ft = 5000
maximum_speed_kias = 200
category = "A-B"

[[holds]]
name = "PELTO"
latitude_deg = 47.45
longitude_deg = -31.2
inbound_course_deg = 225
turn = "left"
leg_length_nm = 4
leg_by = "along-track"
variation_deg_east = -9.5

[[arrivals]]
name = "PELTO"
course_deg = 225
minimum_ft = 3000
reversal = false

[[arrivals]]
name = "GERRI"
course_deg = 40
minimum_ft = 3400
"""
