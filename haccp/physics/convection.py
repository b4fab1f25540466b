"""Heat transfer coefficients as published ranges [W/m² K]; single guesses there are none.

"From memory" marks the few bounds that nobody has seen in print for this program.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Range:
    """From `low` to `high`, as `source` prints them."""

    low: float
    high: float
    source: str


STILL_AIR = Range(
    5.1,
    10,
    "5.10: cooked ham in chilled air without loss of water (Ryland et al. 2006, abstract); 10:"
    " natural convection in gas (Berk, Food Process Engineering and Technology 2009, Table 3.3)",
)
MOVING_AIR = Range(
    9,
    22,
    "9: refrigerated air over steaks; 22: over a carcass at 1.2 m/s (Cengel, Heat and Mass"
    " Transfer, problems 11-44 and 4-65)",
)
BLAST_AIR = Range(
    25,
    50,
    "25: lower end of forced convection in gas (Cengel, course notes); 50: batch air-blast"
    ' freezers, "typically less than 50" (review text, author not known)',
)
STILL_WATER = Range(50, 100, "free convection in liquids (Cengel, course notes)")
MOVING_WATER = Range(
    100,
    1000,
    "100: natural convection in liquid; 1000: lowest of flowing thin liquid (Berk 2009, Table 3.3)",
)
# A pan that is set in ice and water is not wetted all over, and ice that melted leaves a gap.
# 2-in pans of chili and of taco meat failed in such baths, rice passed (Roberts et al. 2013; Olds
# et al. 2013, abstracts): with water's own range all three would have passed easily.
ICE_BATH = Range(
    MOVING_AIR.low,
    STILL_WATER.high,
    "9: hardly touched, no better than moving air (Cengel); 100: free convection in liquids"
    " (Cengel, course notes)",
)

# Between a liquid food and its container's wall.
INSIDE_STILL = STILL_WATER
INSIDE_STIRRED = Range(
    50,
    500,
    "50: thick food stirred every quarter of an hour, conducting in between, 2 k / sqrt(pi a t);"
    " 500: flowing viscous liquid (Berk 2009, Table 3.3)",
)

# Between food and lid. Vapour that condenses on the lid carries more heat than the air gap does,
# which the range does not count: on the slow side.
UNDER_A_LID = Range(2, 25, "free convection in gas (Cengel, course notes)")

# A hot plate facing down loses half as much as one facing up, 0.27 Ra^1/4 beside 0.54 Ra^1/4
# (McAdams; from memory). A fan may make up for it.
BOTTOM_SHARE = Range(0.5, 1.0, "McAdams' plates facing down and up, from memory")
# Share of fully wet: fat, starch or a skin may stop a surface from evaporating at all.
WETNESS = Range(0.0, 1.0, "every surface from a film of fat to open water")
HUMIDITY = Range(0.7, 1.0, "coolers, from memory")

SEA_LEVEL_HPA = 1013.25


def latent_k_per_kpa(pressure_hpa: float) -> float:
    """How much more heat a wet surface gives to air by evaporating than by its temperature alone.

    0.622 L / (P cp) is 15.0 K/kPa at sea level, times 1.1 for the Lewis number of vapour in air:
    the thinner the air, the more.
    """
    return 16.5 * SEA_LEVEL_HPA / pressure_hpa
