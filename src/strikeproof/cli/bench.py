"""Commands of the bolt, the article and the simulated bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.speaking import (
    AsJson,
    Changes,
    Scheduler,
    SetupPath,
    print_json,
    print_rows,
    read_changes,
    say,
    show,
)

__all__ = ["article", "bolt", "fit_check", "hose", "simulate", "sweep"]


@app.command()
def hose(
    supply: Annotated[str, typer.Argument(help='Pressure at the beginning of the hose, such as "6.3 bar".')],
    flow: Annotated[str, typer.Option(help='Free air that the tool takes: "500 l/min" or "18 cfm".')],
    length: Annotated[
        str, typer.Option(help='Length, with the equivalent length of couplings and bends: "10 m".')
    ],
    bore: Annotated[str, typer.Option(help='Inner diameter, such as "10 mm" or "3/8 in".')],
    roughness: Annotated[
        str | None, typer.Option(help="Of its inside; smooth rubber, 0.01 mm, when left out.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Work out how much pressure an air hose leaves at the tool."""
    from strikeproof.desk.safety.hose import describe_hose

    facts = describe_hose(supply, flow, length, bore, roughness)
    if as_json:
        print_json(facts)
        return
    print_rows(facts.lines())
    for note in facts.notes:
        show(f"! {note}")


@app.command()
def bolt(
    text: Annotated[str, typer.Argument(help='Thread and class, such as "M24x2 10.9".')],
    friction: Annotated[
        float | None, typer.Option(help="Friction coefficient, the same in thread and under the head.")
    ] = None,
    thread_friction: Annotated[float | None, typer.Option(help="Friction coefficient in the thread.")] = None,
    head_friction: Annotated[float | None, typer.Option(help="Friction coefficient under the head.")] = None,
    share: Annotated[
        float, typer.Option(help="Allowed clamp load as a share of the proof load, such as 0.75.")
    ] = 0.75,
    proof_stress: Annotated[
        str | None,
        typer.Option(help='Proof stress of a bolt of your own, in place of a class: "830 MPa" or "120 ksi".'),
    ] = None,
    tensile_strength: Annotated[
        str | None, typer.Option(help="Tensile strength, written in the same way; both are needed.")
    ] = None,
    yield_strength: Annotated[
        str | None, typer.Option(help="Yield strength, written in the same way; left out, the proof stress.")
    ] = None,
    shank: Annotated[str | None, typer.Option(help='Thinnest part of the shank, such as "15 mm".')] = None,
    head: Annotated[
        str | None, typer.Option(help="Width of the head across flats, if not the thread's usual one.")
    ] = None,
    face: Annotated[str | None, typer.Option(help="Outer diameter of the face under the head.")] = None,
    as_json: AsJson = False,
) -> None:
    """Work out which load a test bolt may carry, and the torque that reaches it."""
    from strikeproof.desk.safety.bolt import describe_own_bolt

    own = {
        "proof_stress_mpa": proof_stress,
        "tensile_strength_mpa": tensile_strength,
        "yield_strength_mpa": yield_strength,
        "shank_diameter_mm": shank,
        "head_across_flats_mm": head,
        "bearing_face_mm": face,
    }
    facts = describe_own_bolt(
        text,
        {key: value for key, value in own.items() if value is not None},
        friction=friction,
        thread_friction=thread_friction,
        head_friction=head_friction,
        share=share,
    )
    if as_json:
        print_json(facts)
        return
    print_rows(facts.lines())
    for caution in facts.cautions:
        show(f"! {caution}")


@app.command()
def article(
    file: Annotated[Path, typer.Argument(help="TOML file with an [article] table.")],
    peak_torque: Annotated[
        list[str] | None,
        typer.Option(
            help='Peak torque for the margins, such as "800 N m" for every joint, and again as '
            '"PART=900 N m" for the joint of one part.'
        ),
    ] = None,
    drawing: Annotated[Path | None, typer.Option(help="Half-section to write: .svg, .dxf or .pdf.")] = None,
    name: Annotated[str | None, typer.Option(help="Which article, when the file has several.")] = None,
    as_json: AsJson = False,
) -> None:
    """Work out an article's mass, inertia, stiffness, gaps, price and margins from its dimensions."""
    from strikeproof.desk.articles.article import describe_article, draw_article_file, read_peaks

    for_all, of_parts = read_peaks(peak_torque or ())
    facts = describe_article(file, for_all, name=name, joint_peaks=of_parts)
    if drawing is not None:
        say(f"wrote {draw_article_file(facts, drawing)}")
    if as_json:
        print_json(facts)
        return
    print_rows(facts.lines())
    for caution in facts.cautions:
        show(f"! {caution}")


@app.command("fit-check")
def fit_check(
    file: Annotated[Path, typer.Argument(help="TOML file with an [article] table.")],
    envelope: Annotated[Path, typer.Argument(help="TOML file with an [envelope] table, such as a brief.")],
    name: Annotated[str | None, typer.Option(help="Which article, when the file has several.")] = None,
    as_json: AsJson = False,
) -> None:
    """Find where an article touches what is around the bolt; exit code 1 when it does."""
    from strikeproof.desk.designing.fit_check import check_fit

    facts = check_fit(file, envelope, name=name)
    if as_json:
        print_json(facts)
    else:
        print_rows(facts.lines())
        for caution in facts.cautions:
            show(f"! {caution}")
    raise typer.Exit(facts.exit_code)


@app.command()
def simulate(
    setup: SetupPath,
    changes: Changes = None,
    blow: Annotated[int | None, typer.Option(help="Number of the blow to show in full, from 1.")] = None,
    every: Annotated[
        bool, typer.Option("--every-blow", help="Simulate every blow, which is slower.")
    ] = False,
    charts: Annotated[Path | None, typer.Option(help="Folder for the pictures of the run.")] = None,
    film: Annotated[Path | None, typer.Option(help="Slow motion to write: .mp4, .svg or .html.")] = None,
    as_json: AsJson = False,
) -> None:
    """Hammer with one article on a simulated bench."""
    from strikeproof.desk.comparing.tables import simulation_table
    from strikeproof.desk.simulating.simulate import simulate_file

    done = simulate_file(setup, read_changes(changes), blow=blow, every=every)
    if charts is not None or film is not None:
        from strikeproof.desk.simulating.pictures import draw_simulation, film_blow

        for path in draw_simulation(done, charts) if charts is not None else ():
            say(f"wrote {path}")
        if film is not None:
            with progress("filming") as step:
                say(f"wrote {film_blow(done, film, progress=step)}")
    if as_json:
        print_json(done)
        return
    print_rows(simulation_table(done))
    for caution in done.cautions:
        show(f"! {caution}")


@app.command()
def sweep(
    setup: SetupPath,
    over: Annotated[str, typer.Option(help="Key to vary, such as article.polar_inertia.")],
    low: Annotated[float, typer.Option("--from", help="First value, in the unit of the key.")],
    high: Annotated[float, typer.Option("--to", help="Last value of the sweep.")],
    points: Annotated[int, typer.Option(min=2, max=10_000, help="How many values.")] = 40,
    changes: Changes = None,
    chart: Annotated[Path | None, typer.Option(help="Chart to write: .svg or .png.")] = None,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
) -> None:
    """Vary one value of a simulated bench and find where the score is best."""
    from strikeproof.desk.comparing.tables import sweep_table
    from strikeproof.desk.simulating.simulate import sweep_file

    with progress("hammering") as step:
        span, others = (low, high, points), read_changes(changes)
        done = sweep_file(setup, over, span, others, progress=step, scheduler=scheduler)
    if chart is not None:
        from strikeproof.desk.simulating.bench_file import read_tables
        from strikeproof.desk.simulating.pictures import draw_sweep, value_before

        start = value_before(read_tables(setup), over, read_changes(changes))
        say(f"wrote {draw_sweep(done, chart, start=start)}")
    if as_json:
        print_json(done)
    else:
        print_rows(sweep_table(done))
