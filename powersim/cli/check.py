"""`powersim check`: every mistake in the files, then what was assumed and what to beware of."""

from __future__ import annotations

import click

from powersim.cli import options
from powersim.cli.exits import BAD_INPUT


@click.command(epilog="\b\nExample:\n  powersim check my-passage")
@options.folder
@options.depart
@options.as_json
@options.quiet
def check(folder, depart, as_json, quiet) -> None:
    """Find every mistake in a passage's files.

    It tells all mistakes at once. If there are none, it says what it understood, lists every value
    that it assumes because the files do not give it, and names what to be careful with. What only
    shows with sun and bank comes from 'powersim simulate'.
    """
    from powersim.cli.aboard import in_its_units
    from powersim.cli.screen import emphasised, print_json
    from powersim.errors import InputError
    from powersim.inputs.cautions import cautions_of
    from powersim.inputs.folder import load_folder
    from powersim.inputs.standing_cautions import standing_cautions
    from powersim.report.findings import findings_dict, findings_text, problems_dict

    try:
        passage = in_its_units(load_folder(folder, depart=depart))
    except InputError as error:
        if not as_json:
            raise
        print_json(problems_dict(error.problems))
        raise click.exceptions.Exit(BAD_INPUT) from None
    cautions = (*_cold(passage), *_wiring(passage.boat), *cautions_of(passage))
    findings = passage, cautions, standing_cautions(passage)
    if as_json:
        print_json(findings_dict(*findings))
    else:
        click.echo(emphasised(findings_text(*findings, brief=quiet)))


def _wiring(boat):
    """What panels lose on one controller; the diode equation only where they may lose anything."""
    from powersim.report.wiring_text import shared_of, wiring_told

    if any(shared_of(boat)):
        yield from wiring_told(boat)


def _cold(passage):
    """What a cold bank deserves; numpy and the climatology only where there may be frost."""
    from powersim.inputs.frost import may_see_frost

    if not may_see_frost(passage):
        return
    from powersim.report.cold_text import cold_told
    from powersim.simulation.cold import cold_along

    yield from cold_told(cold_along(passage), mean_air=True)
