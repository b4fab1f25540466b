"""What a hidden danger is, and the beginnings that many of them share; all of it is invented."""

from dataclasses import dataclass

COOKED = """
06:00 batch beans --code beans --kind "plant food"
06:30 cook beans 199
"""
BEANS = f"""
{COOKED}
07:00 cool beans 136
08:40 cool beans 70
12:30 cool beans 40
"""
CHICKEN = "06:00 receive chicken 38 --code chicken --kind poultry"


@dataclass(frozen=True)
class Danger:
    """What hides it, what is typed, and what must be told: of what, which limit, which verdict."""

    name: str
    typed: str
    told: str
