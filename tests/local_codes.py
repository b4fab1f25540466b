"""Local codes that more than one folder of tests lays over the Food Code."""

# A local code that counts the second stage from the end of the first.
MARYLAND = """
[[limit]]
name = "cooling-stage-2"
side = "at or below"
inclusive = true
f = 41
c = 5
start_f = 135
start_c = 57
within_min = 240
clock = "previous stage"
citation = "COMAR 10.15.03.11"
source = "Maryland, COMAR 10.15.03.11"
basis = "verified"
text = "Cool from 135 °F to 70 °F within 2 hours, then to 41 °F within an additional 4 hours."
"""

# Standard 3.2.2 prints °C only; its °F are exact conversions, for the test.
AUSTRALIA = """
[[limit]]
name = "cooling-stage-1"
side = "at or below"
inclusive = true
f = 69.8
c = 21
start_f = 140
start_c = 60
within_min = 120
clock = "start"
citation = "Standard 3.2.2"
source = "Australia, Food Standards Code, Standard 3.2.2"
basis = "verified"
text = "Cool from 60 °C to 21 °C within 2 hours."

[[limit]]
name = "cooling-stage-2"
side = "at or below"
inclusive = true
f = 41
c = 5
start_f = 140
start_c = 60
within_min = 240
clock = "previous stage"
citation = "Standard 3.2.2"
source = "Australia, Food Standards Code, Standard 3.2.2"
basis = "verified"
text = "Cool from 21 °C to 5 °C within a further 4 hours."
"""

# Invented.
COLD_AT_38 = """\
[[limit]]
name = "cold-holding"
side = "at or below"
inclusive = true
f = 38
c = 3
citation = "section 12"
source = "an invented code, for a test"
basis = "verified"
text = "Hold cold at 38 °F (3 °C) or less."
"""

COLD_AT_45 = """\
[[limit]]
name = "cold-holding"
side = "at or below"
inclusive = true
f = 45
c = 7
citation = "9.9"
source = "an invented local code"
basis = "verified"
text = "Hold cold at 45 °F (7 °C) or less."
"""
