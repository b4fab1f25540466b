"""What a reader asks for of a record's days: all of it, or some batches, foods and units alone."""

from dataclasses import dataclass

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.on_record import OnRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """The parts that are asked for, all of them shown; none asked for is the whole.

    Of batches and foods that are named everything is shown, on whatever day it was found. With
    `cooling_log` only how they cooled, and of all batches where none is named. Names are those of
    the record, a food's in whatever capitals.
    """

    batches: tuple[str, ...] = ()
    foods: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    thermometers: bool = False
    cooling_log: bool = False

    @property
    def is_whole(self) -> bool:
        return self == WHOLE

    @property
    def names_food(self) -> bool:
        return bool(self.batches or self.foods)

    @property
    def is_about_food(self) -> bool:
        """Whether food or units are judged, and not thermometers alone."""
        return self.is_whole or bool(self.names_food or self.units or self.cooling_log)

    def names(self, subject: OnRecord) -> bool:
        """Whether a batch or unit was asked for by its name or its food's."""
        if isinstance(subject, BatchOnRecord):
            foods = {food.casefold() for food in self.foods}
            return subject.name in self.batches or subject.batch.food.casefold() in foods
        return subject.name in self.units

    def takes(self, subject: OnRecord) -> bool:
        """Whether a batch or unit is shown."""
        every_cooling = self.cooling_log and not self.names_food
        is_one = every_cooling and isinstance(subject, BatchOnRecord)
        return self.is_whole or is_one or self.names(subject)

    def may_take(self, code: str) -> bool:
        """Whether a batch may be shown or needed, as far as its code tells."""
        others = self.is_whole or self.foods or self.units
        every_cooling = self.cooling_log and not self.names_food
        return bool(others or every_cooling) or code in self.batches

    def needs(self, subject: OnRecord) -> bool:
        """Whether a batch or unit is to be judged: with a unit, the food that stood in it, too."""
        in_a_unit = bool(self.units) and isinstance(subject, BatchOnRecord)
        return in_a_unit or self.takes(subject)


WHOLE = Selection()
