"""A bolt beyond what it may carry is said wherever its run is: loaded logs and typed scores alike."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.commands import strikeproof

from strikeproof.desk.comparing.compare import compare_campaign
from strikeproof.desk.loading.bolt_audit import BoltAudit, audit_bolts
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.report import write_report
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.runs.judged import JudgedCampaign, judge_runs
from strikeproof.desk.runs.run_list import make_run_list
from strikeproof.desk.safety.bolt_limit import find_limit, watch_words
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.trace import TracePlan, simulate_trace

FILE = """\
[campaign]
name = "too much"
reference = "plain"
[protocol]
duration = "4 s"
score = "{score}"
[rig]
channel = "load"
unit = "{unit}"
[bolt]
thread = "M24x2"
class = "8.8"
friction = 0.12
{calibration}
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""
HEAD = "run,log,tool,article,block,bolt,started,set_aside,note,score\n"
# M24x2 of class 8.8: proof load 230 kN (ISO 898-1:2013, Table 7), of which 173 kN are allowed.
PROOF_KN, ALLOWED_KN = 230.0, 0.75 * 230.0
TYPED = HEAD + "r1,,air,plain,1,b1,,,,160\nr2,,air,ring,1,b1,,,,320\nr3,,air,plain,1,b1,,,,165\n"


def load(
    folder: Path,
    sheet: str,
    *,
    unit: str = "kN",
    score: str = "end",
    calibration: str = "",
    changes: tuple[tuple[str, str], ...] = (),
) -> Path:
    """A workspace with the campaign loaded."""
    source = folder / "campaign"
    (source / "logs").mkdir(parents=True, exist_ok=True)
    text = FILE.format(unit=unit, score=score, calibration=calibration)
    for old, new in changes:
        text = text.replace(old, new)
    (source / "campaign.toml").write_text(text)
    (source / "runs.csv").write_text(sheet)
    load_campaign(source, folder / "lab")
    return folder / "lab"


def judge(lab: Path) -> JudgedCampaign:
    return judge_runs(*open_campaign(lab, None))


def flags(judged: JudgedCampaign) -> dict[str, set[str]]:
    wanted = {"overload", "bolt-overloaded"}
    return {run.stored.row.run: wanted & {flag.kind for flag in run.flags} for run in judged.runs}


def test_a_typed_score_beyond_the_bolt_is_flagged_and_so_is_what_came_after_on_it(tmp_path: Path) -> None:
    judged = judge(load(tmp_path, TYPED))
    assert flags(judged) == {"r1": set(), "r2": {"overload"}, "r3": {"bolt-overloaded"}}
    over = judged.runs[1].overload
    assert over is not None
    assert (over.level, over.unit) == (320.0, "kN")
    assert over.allowed == pytest.approx(ALLOWED_KN, rel=0.005)
    assert over.proof == pytest.approx(PROOF_KN, rel=0.005)
    assert judged.runs[1].score == 320.0, "the score stays"
    assert str(over) == "the bolt was loaded to 320 kN, beyond its proof load of 231 kN; 173 kN is allowed"


def test_a_new_bolt_is_not_blamed_for_the_one_before(tmp_path: Path) -> None:
    judged = judge(load(tmp_path, TYPED.replace("r3,,air,plain,1,b1", "r3,,air,plain,1,b2")))
    assert flags(judged)["r3"] == set()


def test_a_run_that_is_excluded_has_strained_its_bolt_all_the_same(tmp_path: Path) -> None:
    judged = judge(load(tmp_path, TYPED.replace(",,,,320", ",,slipped,,320")))
    assert flags(judged) == {"r1": set(), "r2": {"overload"}, "r3": {"bolt-overloaded"}}
    assert any("r2" in each for each in judged.warnings)


@pytest.mark.parametrize(
    ("unit", "score", "typed", "is_over"),
    [
        ("reading", "end", 320, False),  # nobody can tell
        ("N m", "end", 500, False),
        ("N m", "end", 900, True),
        ("kN", "time to 200 kN", 3, True),  # it was reached
        ("kN", "time to 150 kN", 3, False),
    ],
)
def test_a_score_is_taken_for_the_load_it_tells(
    tmp_path: Path, unit: str, score: str, typed: float, is_over: bool
) -> None:
    judged = judge(load(tmp_path, HEAD + f"r1,,air,plain,1,,,,,{typed}\n", unit=unit, score=score))
    assert (flags(judged)["r1"] == {"overload"}) == is_over


def write_log(
    folder: Path, name: str, *, scale: float = 1.0, until_s: float = 4.3, zero: bool = True
) -> None:
    plan = TracePlan(sample_rate_hz=2000.0, length_s=10.0, start_s=2.5, hammer_s=until_s, window_s=4.0)
    trace = simulate_trace(np.random.default_rng(3), plan=plan)
    begin = 0 if zero else 5400
    rows = np.column_stack([trace.time[begin:], scale * trace.reading[begin:]])
    (folder / "logs").mkdir(parents=True, exist_ok=True)
    np.savetxt(folder / "logs" / name, rows, "%.6f", ",", header="time [s],load [kN]", comments="")


def test_logs_are_watched_too_after_the_window_and_without_a_zero(tmp_path: Path) -> None:
    source = tmp_path / "campaign"
    write_log(source, "calm.csv")
    write_log(source, "hard.csv", scale=3.0)
    write_log(source, "cut.csv", scale=3.0, zero=False)
    sheet = HEAD + "".join(f"{n},{n}.csv,air,plain,1,{n},,,,\n" for n in ("calm", "hard", "cut"))
    judged = judge(load(tmp_path, sheet))
    assert flags(judged) == {"calm": set(), "hard": {"overload"}, "cut": {"overload"}}


def test_beyond_the_calibrated_range_an_overload_is_said_although_scores_become_readings(
    tmp_path: Path,
) -> None:
    source = tmp_path / "campaign"
    source.mkdir()
    rows = [
        f"{load},{load / 10},{way},{n}"
        for n in (1, 2)
        for way in ("up", "down")
        for load in range(0, 201, 25)
    ]
    (source / "calibration.csv").write_text("applied,reading,direction,repeat\n" + "\n".join(rows) + "\n")
    table = '[calibration]\nsheet = "calibration.csv"\napplied_unit = "kN"'
    sheet = HEAD + "r1,,air,plain,1,,,,,15\nr2,,air,ring,1,,,,,32\n"
    judged = judge(load(tmp_path, sheet, unit="reading", calibration=table))
    assert judged.unit == "reading"
    assert flags(judged)["r2"] == {"overload"}


def test_load_runs_compare_json_and_page_all_say_it(tmp_path: Path) -> None:
    lab = load(tmp_path, TYPED)
    where = ("-w", str(lab))
    loaded = strikeproof("load", str(tmp_path / "campaign"), *where)
    listed = strikeproof("runs", *where)
    compared = strikeproof("compare", *where)
    for said in (loaded, listed, compared):
        assert "overload in run r2: the bolt was loaded to 320 kN" in said[1]
        assert "run r3 made on a bolt after its overload" in said[1]
    assert "bolt beyond its allowed load" in listed[0]
    assert "overload" in strikeproof("runs", *where, "--json")[0]
    assert "320 kN" in strikeproof("compare", *where, "--json")[0]
    assert "320 kN" in strikeproof("load", str(tmp_path / "campaign"), *where, "--json")[0]
    warnings = compare_campaign(lab).warnings
    assert [each for each in warnings if "320 kN" in each] == [each for each in warnings if "r2" in each]
    assert len([each for each in warnings if "overload" in each]) == 2  # in r2, and after it on its bolt
    write_report(lab, tmp_path / "page.html")
    page = (tmp_path / "page.html").read_text()
    assert "the bolt was loaded to 320 kN" in page
    assert "the bolt was loaded beyond what it may carry" in page


STANDING_KN = 100.0


def standing_logs(folder: Path) -> JudgedCampaign:
    """One log from 0 to some 98 kN, and the same growth on a bolt that stands at 100 kN before."""
    source = folder / "campaign"
    for name, zero in (("loose", 0.0), ("tight", STANDING_KN)):
        plan = TracePlan(
            sample_rate_hz=2000.0, length_s=10.0, start_s=2.5, hammer_s=4.3, window_s=4.0, zero=zero
        )
        trace = simulate_trace(np.random.default_rng(3), plan=plan)
        (source / "logs").mkdir(parents=True, exist_ok=True)
        rows = np.column_stack([trace.time, trace.reading])
        np.savetxt(
            source / "logs" / f"{name}.csv", rows, "%.6f", ",", header="time [s],load [kN]", comments=""
        )
    sheet = HEAD + "".join(f"{n},{n}.csv,air,plain,1,{n},,,,\n" for n in ("loose", "tight"))
    return judge(load(folder, sheet))


def test_a_bolt_that_was_tight_before_its_run_is_judged_by_all_that_it_carries(tmp_path: Path) -> None:
    judged = standing_logs(tmp_path)
    loose, tight = judged.runs
    assert tight.score == pytest.approx(loose.score), "the score is the growth alone"
    assert loose.overload is None and not flags(judged)["loose"]
    assert tight.overload is not None
    assert tight.overload.level == pytest.approx(STANDING_KN + float(loose.growth_level.max()), rel=0.02)
    kinds = [flag.kind for flag in tight.flags]
    assert kinds[:2] == ["overload", "begins-loaded"]
    assert "begins-loaded" not in [flag.kind for flag in loose.flags]
    assert "100 kN before the first blow" in str(tight.flags[1])


def test_a_cell_whose_own_zero_is_given_stands_at_no_load(tmp_path: Path) -> None:
    standing_logs(tmp_path)
    path = tmp_path / "campaign" / "campaign.toml"
    path.write_text(path.read_text().replace('unit = "kN"', 'unit = "kN"\nzero = 100.0'))
    load_campaign(tmp_path / "campaign", tmp_path / "lab")
    kinds = {run.stored.row.run: [flag.kind for flag in run.flags] for run in judge(tmp_path / "lab").runs}
    assert not {"overload", "begins-loaded"} & set(kinds["tight"])


def test_without_a_load_nothing_is_said_of_a_reading_before_a_run(tmp_path: Path) -> None:
    source = tmp_path / "campaign"
    write_log(source, "far.csv", scale=1.0)
    text = (source / "logs" / "far.csv").read_text().replace("[kN]", "[div]")
    (source / "logs" / "far.csv").write_text(text)
    judged = judge(load(tmp_path, HEAD + "far,far.csv,air,plain,1,b,,,,\n", unit="div"))
    assert "begins-loaded" not in [flag.kind for flag in judged.runs[0].flags]


def test_another_bolt_in_the_campaign_wipes_no_overload_silently(tmp_path: Path) -> None:
    lab = load(tmp_path, TYPED)
    path = tmp_path / "campaign" / "campaign.toml"
    path.write_text(path.read_text().replace('class = "8.8"', 'class = "12.9"\nlargest_proof_share = 0.95'))
    said = strikeproof("load", str(tmp_path / "campaign"), "-w", str(lab))[1]
    assert "the bolt's limit is 347.8" in said  # its twist allows no more and "was 173" in said
    assert "no longer beyond it: r2" in said
    judged = judge(lab)
    assert flags(judged) == {"r1": set(), "r2": set(), "r3": {"bolt-overloaded"}}, "its bolt stays spent"
    history = strikeproof("history", "r2", "-w", str(lab))[0]
    assert "overloaded" in history and "the bolt was loaded to 320 kN" in history
    again = load_campaign(tmp_path / "campaign", lab)
    assert not any("limit" in each for each in again.warnings)
    path.write_text(path.read_text().replace("0.95", "0.3"))
    narrower = load_campaign(tmp_path / "campaign", lab)
    assert any("beyond it now: r1, r2, r3" in each for each in narrower.warnings)


def test_a_bolt_once_beyond_its_limit_is_refused_by_a_recorder_whatever_the_campaign_says_now(
    tmp_path: Path,
) -> None:
    lab = load(tmp_path, TYPED.replace("r3,", "r4,").replace(",165", ","))
    path = tmp_path / "campaign" / "campaign.toml"
    path.write_text(path.read_text().replace('class = "8.8"', 'class = "12.9"\nlargest_proof_share = 0.95'))
    load_campaign(tmp_path / "campaign", lab)
    with open_recorder(lab) as recorder:
        spent = recorder.view().spent
    assert spent is not None and (spent.run, spent.bolt) == ("r2", "b1")
    assert "320 kN" in spent.says


LOOSEN = ('score = "end"', 'score = "end"\ndirection = "loosen"')
OWN_ZERO = ('unit = "kN"', 'unit = "kN"\nzero = 2.0')


def write_loosening(folder: Path, name: str, *, preload: float, left: float, sign: float = 1.0) -> None:
    """A log of a bolt that loses load, by a cell that shows 2 kN with the bolt loose."""
    plan = TracePlan(
        sample_rate_hz=2000.0,
        length_s=10.0,
        start_s=2.5,
        hammer_s=4.3,
        window_s=4.0,
        direction="loosen",
        final_level=preload - left,
        growth_blows=30.0,
        zero=left,
    )
    trace = simulate_trace(np.random.default_rng(3), plan=plan)
    (folder / "logs").mkdir(parents=True, exist_ok=True)
    rows = np.column_stack([trace.time, 2.0 + sign * trace.reading])
    np.savetxt(folder / "logs" / name, rows, "%.6f", ",", header="time [s],load [kN]", comments="")


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_bolt_loosened_from_beyond_its_limit_was_beyond_it(tmp_path: Path, sign: float) -> None:
    source = tmp_path / "campaign"
    for name, preload, left in (("high", 210.0, 90.0), ("calm", 160.0, 60.0)):
        write_loosening(source, f"{name}.csv", preload=preload, left=left, sign=sign)
    sheet = HEAD + "".join(f"{n},{n}.csv,air,plain,1,{n},,,,\n" for n in ("high", "calm"))
    lab = load(tmp_path, sheet, changes=(LOOSEN, OWN_ZERO))
    judged = judge(lab)
    assert flags(judged) == {"high": {"overload"}, "calm": set()}
    over = judged.runs[0].overload
    assert over is not None and over.level == pytest.approx(210.0, rel=0.02)
    assert not any(flag.kind == "begins-loaded" for run in judged.runs for flag in run.flags)
    for command in (("load", str(source)), ("runs",), ("compare",)):
        assert "overload in run high: the bolt was loaded to 21" in strikeproof(*command, "-w", str(lab))[1]
    assert "was loaded to 21" in strikeproof("history", "high", "-w", str(lab))[0]


def test_a_typed_loss_beyond_the_limit_is_an_overload_too(tmp_path: Path) -> None:
    judged = judge(load(tmp_path, TYPED, changes=(LOOSEN,)))
    assert flags(judged) == {"r1": set(), "r2": {"overload"}, "r3": {"bolt-overloaded"}}


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ((('class = "8.8"\n', ""),), "gives no thread and property class"),
        ((('unit = "kN"', 'unit = "reading"'),), "no calibration"),
        ((LOOSEN,), "taken as 0"),
    ],
)
def test_load_and_runs_say_that_no_limit_is_watched_and_why(
    tmp_path: Path, changes: tuple[tuple[str, str], ...], why: str
) -> None:
    lab = load(tmp_path, HEAD + "r1,,air,plain,1,b1,,,,16\n", changes=changes)
    where = ("-w", str(lab))
    for said in (strikeproof("load", str(tmp_path / "campaign"), *where), strikeproof("runs", *where)):
        assert "for overload" in said[1] and why in said[1]
    assert any(why in each for each in make_run_list(lab, None).warnings)
    assert not any("for overload" in each for each in compare_campaign(lab).warnings)


def test_a_limit_that_is_watched_is_not_mentioned(tmp_path: Path) -> None:
    lab = load(tmp_path, HEAD + "r1,,air,plain,1,b1,,,,16\n")
    assert "watches" not in strikeproof("runs", "-w", str(lab))[1]


def set_key(folder: Path, old: str, new: str) -> None:
    """Change a line of the campaign file and load it again."""
    path = folder / "campaign" / "campaign.toml"
    path.write_text(path.read_text().replace(old, new))
    load_campaign(folder / "campaign", folder / "lab")


def test_a_corrected_zero_takes_an_overload_back_and_what_came_of_it(tmp_path: Path) -> None:
    source = tmp_path / "campaign"
    write_log(source, "a.csv")
    write_log(source, "b.csv")
    sheet = HEAD + "".join(f"{n},{n}.csv,air,plain,1,b1,,,,\n" for n in "ab")
    lab = load(tmp_path, sheet, changes=(('unit = "kN"', 'unit = "kN"\nzero = -90.0'),))
    assert flags(judge(lab)) == {"a": {"overload"}, "b": {"overload", "bolt-overloaded"}}
    set_key(tmp_path, 'class = "8.8"', 'class = "12.9"\nlargest_proof_share = 0.95')
    assert flags(judge(lab)) == {"a": set(), "b": {"bolt-overloaded"}}, "another limit takes nothing back"
    path = source / "campaign.toml"
    path.write_text(path.read_text().replace("zero = -90.0", 'zero = "2000 N"'))
    strikeproof("load", str(source), "-w", str(lab))
    assert flags(judge(lab)) == {"a": set(), "b": set()}
    with open_recorder(lab) as recorder:
        assert recorder.view().spent is None
    assert "overloaded" in strikeproof("history", "a", "-w", str(lab))[0], "the history keeps it"


def test_loading_says_which_overloads_a_corrected_zero_takes_back(tmp_path: Path) -> None:
    write_log(tmp_path / "campaign", "a.csv")
    lab = load(tmp_path, HEAD + "a,a.csv,air,plain,1,b1,,,,\n", changes=(('"kN"', '"kN"\nzero = -90.0'),))
    path = tmp_path / "campaign" / "campaign.toml"
    path.write_text(path.read_text().replace("zero = -90.0", "zero = 2.0"))
    warnings = load_campaign(tmp_path / "campaign", lab).warnings
    assert any("never beyond the bolt's limit: a" in each for each in warnings)


@pytest.mark.parametrize(
    ("sign", "zero", "kind", "words"),
    [
        (-1.0, "82.0", "begins-loaded", "showed −80.0 kN before the first blow: the cell reads reversed"),
        (-1.0, "-78.0", "off-zero", "showed 80.0 kN before the first blow, and the reading falls under load"),
        (1.0, "82.0", "off-zero", "showed −80.0 kN before the first blow, and the reading rises under load"),
        (1.0, "-78.0", "begins-loaded", "showed 80.0 kN before the first blow, and the score"),
    ],
)
def test_a_cell_that_reads_reversed_or_has_another_zero_is_called_so(
    tmp_path: Path, sign: float, zero: str, kind: str, words: str
) -> None:
    write_log(tmp_path / "campaign", "a.csv", scale=sign)
    zero = f"{sign * 2 + (float(zero) - 2):g}"
    lab = load(tmp_path, HEAD + "a,a.csv,air,plain,1,b1,,,,\n", changes=(('"kN"', f'"kN"\nzero = {zero}'),))
    found = [flag for flag in judge(lab).runs[0].flags if flag.kind in ("begins-loaded", "off-zero")]
    assert [flag.kind for flag in found] == [kind]
    assert words in str(found[0])


def test_a_loosened_bolt_that_ends_below_loose_shows_another_zero(tmp_path: Path) -> None:
    write_loosening(tmp_path / "campaign", "a.csv", preload=120.0, left=10.0)
    changes = (LOOSEN, ('unit = "kN"', 'unit = "kN"\nzero = 90.0'))
    judged = judge(load(tmp_path, HEAD + "a,a.csv,air,plain,1,b1,,,,\n", changes=changes))
    assert any(
        flag.kind == "off-zero" and "after the last blow" in str(flag) for flag in judged.runs[0].flags
    )


STEPS = "applied,reading,direction,repeat\n" + "".join(
    f"{torque},{torque * 0.35 + off:.2f},up,{n}\n"
    for n, off in ((1, 0.1), (2, -0.1))
    for torque in range(0, 601, 100)
)


def test_a_cell_in_kn_calibrated_in_torque_is_judged_by_its_own_kn_too(tmp_path: Path) -> None:
    """A real friction below the declared one gives more load at each torque: the stricter reading wins."""
    source = tmp_path / "campaign"
    source.mkdir()
    (source / "calibration.csv").write_text(STEPS)
    table = '[calibration]\nsheet = "calibration.csv"\napplied_unit = "N m"'
    lab = load(tmp_path, TYPED.replace(",320", ",190"), calibration=table)
    judged = judge(lab)
    assert flags(judged) == {"r1": set(), "r2": {"overload"}, "r3": {"bolt-overloaded"}}
    over = judged.runs[1].overload
    assert over is not None and over.unit == "kN"
    assert (over.level, over.allowed) == (pytest.approx(190.0), pytest.approx(ALLOWED_KN, rel=0.005))
    assert over.proof == pytest.approx(PROOF_KN, rel=0.005)
    assert judged.runs[0].clamp_load_n == pytest.approx(160e3), "what the cell shows, not what friction makes"
    assert judged.runs[0].torque_n_m == pytest.approx(160.0 / 0.35, rel=1e-3)
    for command in (("load", str(source)), ("runs",), ("compare",)):
        said = strikeproof(*command, "-w", str(lab))[1]
        assert "overload in run r2: the bolt was loaded to 190 kN; 173 kN is allowed" in said
    assert any("2.86 N·m per kN" in each and "friction 0.12" in each for each in judged.warnings)
    at_the_rig = find_limit(judged.campaign, judged.worth)
    for said in (strikeproof("load", str(source), "-w", str(lab))[1], watch_words(at_the_rig)):
        assert "2.86 N·m per kN" in said
    assert at_the_rig.level == pytest.approx(ALLOWED_KN / 0.35, rel=0.005)


@pytest.mark.parametrize(
    ("mistyped", "right", "stays_spent"),
    [("0.3", "0.75", set()), ("0.6", "0.9", {"r2", "r3"}), ("0.3", "0.9", {"r2", "r3"})],
)
def test_a_mistyped_share_spends_no_bolt_that_never_was_beyond_the_usual_one(
    tmp_path: Path, mistyped: str, right: str, stays_spent: set[str]
) -> None:
    """Of a proof load of 230 kN r2 was at 0.65 or 0.8, r1 and r3 at 0.5: three quarters are usual."""
    second = "185" if stays_spent else "150"
    typed = TYPED.replace(",320", f",{second}").replace(",160", ",115").replace(",165", ",115")
    share = f'class = "8.8"\nlargest_proof_share = {mistyped}'
    lab = load(tmp_path, typed, changes=(('class = "8.8"', share),))
    assert "overload" in flags(judge(lab))["r2"]
    set_key(tmp_path, f"largest_proof_share = {mistyped}", f"largest_proof_share = {right}")
    found = flags(judge(lab))
    assert {run for run in found if found[run]} == stays_spent - {"r2"}
    with open_recorder(lab) as recorder:
        spent = [recorder.book._bolts.overloaded_in("b1", recorder.book.kept.values())]
    assert (spent != [None]) == bool(stays_spent)


@pytest.mark.parametrize(("factor", "is_proven"), [(2.0, True), (1.85, False)])
def test_logs_that_read_above_the_full_scale_refute_it(
    tmp_path: Path, factor: float, is_proven: bool
) -> None:
    write_log(tmp_path / "campaign", "r1.csv", scale=factor)
    scale = ('unit = "kN"', 'unit = "kN"\nfull_scale = 150')
    lab = load(tmp_path, HEAD + "r1,r1.csv,air,plain,1,b1,,,,\n", changes=(scale,))
    said = "above the full scale of 150 kN"
    judged, audit = judge(lab), audit_bolts(*open_campaign(lab, None))
    assert isinstance(audit, BoltAudit)
    for texts in ((*judged.warnings, judged.unwatched), audit.warnings(judged.campaign)):
        assert sum(said in each for each in texts) == 1
        assert any("Nothing watches" in each for each in texts) != is_proven
    assert (flags(judged)["r1"] == {"overload"}) == is_proven
