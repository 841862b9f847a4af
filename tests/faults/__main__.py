"""The command: kill what serves, tens of times on both databases, and look for what was lost; then bring it into trouble."""

import click

from tests.faults import troubles
from tests.faults.places import KINDS
from tests.faults.rounds import run


@click.command()
@click.option(
    "--rounds", default=24, show_default=True, type=click.IntRange(1, 500), help="How often something is killed, on each database."
)
@click.option("--database", "kinds", multiple=True, type=click.Choice(KINDS), default=KINDS, show_default=True)
@click.option("--seed", default=1, show_default=True, help="Which moments to kill at.")
def main(rounds: int, kinds: tuple[str, ...], seed: int) -> None:
    """Kill workers, the service and the database in the middle of pushes, publications and counts; then let it live through trouble."""
    for kind in kinds:
        run(kind, rounds, seed, click.echo)
        troubles.run(kind, click.echo)


main()
