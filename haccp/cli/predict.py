"""`haccp plan-cooling`: the plan before cooking."""

from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.session import Session, by_option
from haccp.cli.setting import NATURES
from haccp.equipment import METHODS, WALK_IN
from haccp.language import phrase
from haccp.quantities import LENGTHS

CONTAINERS = ("pan", "pot", "roast")


def _assumptions(ctx: click.Context, _: click.Parameter, asked: bool) -> None:
    if asked and not ctx.resilient_parsing:
        from haccp.physics.planning import ASSUMPTIONS

        for one in ASSUMPTIONS:
            terminal.paragraph(phrase(one), lead="- ", indent="  ")
        ctx.exit()


@click.command()
@click.argument("food")
@click.argument("amount", required=False)
@click.option("--depth", help=f"How deep it stands: {LENGTHS}. Default: the kitchen's plan's.")
@click.option("--method", default=WALK_IN, show_default=True, help=f"{', '.join(METHODS)}.")
@click.option(
    "--air", help="Its air, such as 38F; default: what is usual. An ice bath's: the room."
)
@click.option("--then", metavar="METHOD", help="Where it goes next: 'walk-in' after an ice bath.")
@click.option("--then-air", help="The air there, such as 38F; default: what is usual.")
@click.option("--at", help="How warm it is when it goes there: 70F, the default.")
@click.option("--after", help="Or after how long: 45min, 1h 30min.")
@click.option("--moving", is_flag=True, help="The air is moved by a fan right there.")
@click.option("--covered", is_flag=True, help="Under a lid, or wrapped.")
@click.option("--nature", type=click.Choice(NATURES), help="What it is like while it cools.")
@click.option("--start", help="How hot it goes in; default: where the limit's time begins.")
@click.option("--left", help="Started already: the time left to each level from now: 60min,5h.")
@click.option("--from-now", metavar="BATCH", help="The time left, and how warm, from the record.")
@click.option(
    "--container",
    type=click.Choice(CONTAINERS),
    help="Default: as in the kitchen's plan, or a full-size pan.",
)
@click.option("--diameter", help="A pot's or a roast's: 12in or 30cm.")
@click.option("--weight", help="One roast's: 8lb or 4kg.")
@click.option(
    "--composition",
    metavar="FOOD_OR_GRAMS",
    help="The known food that it is like, or 'water 75.5, protein 5.7, fat 5.5, carbohydrate 7.5, "
    "fibre 4.4, ash 1.4' in 100 g.",
)
@click.option("--batch", metavar="BATCH", help="Store the plan with this batch.")
@by_option
@click.option(
    "--assumptions",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_assumptions,
    help="List what every prediction assumes.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def predict(
    session: Session, /, batch: str | None, by: str | None, json_: bool, **typed: Any
) -> None:
    """Estimate before cooking how FOOD will cool, how deep it may be, and what would help.

    haccp plan-cooling "bean stew" "12 gal" --depth 2in --method walk-in --air 38F --moving

    haccp plan-cooling chili --depth 2in --start 106F --left 60min,5h --method "ice bath"
    """
    # numpy and the models: imported here, so that a cook's entry does not wait for them
    from haccp.cli.cooling_answer import answer
    from haccp.cli.cooling_question import Question

    answer(session, Question(**typed), batch, by, json_=json_)
