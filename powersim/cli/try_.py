"""`powersim try`: a page on this computer that answers while a value is moved."""

from __future__ import annotations

import click

from powersim.cli import options

#: Below it, ports belong to the system.
LEAST_PORT, LARGEST_PORT = 1024, 65535
#: Options that name files beside those of the folder.
SOURCES = ("forecast", "irradiance", "engine_plan")
#: Questions that write.
TO_FINISH = ("save",)


@click.command("try", epilog="\b\nExample:\n  powersim try my-passage")
@options.folder
@options.depart
@options.step
@options.weather_files
@options.engine_plan
@options.members_compared
@options.seed
@options.risk
@click.option(
    "--port",
    metavar="N",
    type=options.WholeNumber(LEAST_PORT, LARGEST_PORT, example=8123),
    help="Where the page is served; any free port if left out.",
)
@click.option("--no-browser", is_flag=True, help="Open no browser; print the address alone.")
def try_(folder, port, no_browser, **given) -> None:
    """Move a value and see what it changes: a page in your browser.

    On one side the boat, each value as in your files; on the other the answer, beside that of the
    files. Nothing is written until you ask for it on the page.

    The page is served on this computer alone, and needs no network. Whoever has its address with
    the key behind "#" can use it, so pass it on to nobody. It ends with Ctrl-C, or a quarter of an
    hour after the page was closed.
    """
    from powersim.cli import interrupts
    from powersim.cli.page_told import (
        address_told,
        begin_the_answer,
        fault_teller,
        idle_told,
        page_opened,
    )
    from powersim.tryout.assets_table import read_assets
    from powersim.tryout.server import Server
    from powersim.tryout.session import Session

    _refuse_what_no_page_mends(folder, given)
    session = Session(folder, **given)
    tell_fault = fault_teller()
    with Server(
        session.questions,
        assets=read_assets(),
        port=port or 0,
        to_finish=TO_FINISH,
        on_fault=tell_fault,
    ) as server:
        begin_the_answer(session, tell_fault)
        opens = not no_browser
        address_told(server, opens=opens)
        try:
            with page_opened(server, opens=opens):
                server.lifetime.wait()
        except KeyboardInterrupt:
            server.close()
            interrupts.end_at_once()  # a question may be at work for long that nobody waits for
    idle_told(server, folder)


def _refuse_what_no_page_mends(folder, given):
    """End here where the command line is at fault; what is wrong in the folder, the page shows."""
    from powersim.errors import InputError
    from powersim.inputs.folder import load_folder

    sources = {name: given[name] for name in ("depart", *SOURCES, "or_climatology")}
    asked_for = {"depart", *(str(given[name]) for name in SOURCES if given[name] is not None)}
    try:
        passage = load_folder(folder, **sources)
    except InputError as error:
        of_these = [problem for problem in error.problems if problem.file in asked_for]
        if not folder.is_dir():
            raise
        if of_these:
            raise InputError(of_these, or_climatology=error.or_climatology) from None
    else:
        for problem in passage.left_out:
            click.echo(f"Left out, average weather instead: {problem}", err=True)
