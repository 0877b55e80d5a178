"""What the head of a log says of a person is found and taken out; its columns keep their names."""

from __future__ import annotations

import pytest

from strikeproof.desk.publishing.bundle.heads import blank_head, find_lines

ROWS = "time [s],load [kN]\n0,0\n0.1,5.5\n"


@pytest.mark.parametrize(
    ("line", "left"),
    [
        ('"Operator","Zelda"', '"Operator",removed'),
        ('"Tested by";"Zelda"', '"Tested by";removed'),
        ("Operator name: Zelda Q", "Operator name: removed"),
        ("Operator_ID=Zelda", "Operator_ID=removed"),
        ("# Measured by Zelda", "# Measured by removed"),
        ("Recorded by\tZelda", "Recorded by\tremoved"),
        ('"Operator: Zelda"', '"Operator: removed"'),
        ("Operator,Zelda,,", "Operator,removed"),
        ("Operator: Zelda, late shift", "Operator: removed"),
        ("Serial,4711", "Serial,removed"),
        ("ask Zelda@example.org", "ask removed"),
    ],
)
@pytest.mark.parametrize("rows", [ROWS, ROWS.replace("\n", "\r\n"), "0,0\n1,1\n", "t,a,b\n0,1,2\n1,2,3\n"])
def test_a_line_that_names_somebody_is_found_and_blanked(line: str, left: str, rows: str) -> None:
    head = f"{line}\n{rows}".encode()
    (found,) = find_lines(head)
    assert found.decode() in line
    assert blank_head(head) == f"{left}\n{rows}".encode()


@pytest.mark.parametrize(
    "heading",
    [
        "time [s],serial,load [kN]\n0,1,2\n1,2,3\n",
        "# time;operator;load\n0,0;1;2\n1,0;2;3\n",
        "time\tuser\tload\ns\t-\tkN\n0\t1\t2\n1\t2\t3\n",
        '"serial","load [kN]"\n1,2\n2,3\n',
        "time,serial,load\n2026-05-04 10:00:00,ab,2\n2026-05-04 10:00:01,ab,3\n",
    ],
)
def test_the_names_of_columns_stay(heading: str) -> None:
    head = f"Operator: Zelda\nbench 4\n\n{heading}".encode()
    assert find_lines(head) == [b"Operator: Zelda"]
    assert blank_head(head) == head.replace(b"Zelda", b"removed")


@pytest.mark.parametrize("line", ["tightened by hand", "loaded by 5 kN", "number of users 3", "user guide"])
def test_other_lines_are_left_alone(line: str) -> None:
    assert find_lines(f"{line}\n{ROWS}".encode()) == []
