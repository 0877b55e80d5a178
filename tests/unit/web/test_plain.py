"""A place that fills itself is told how far its work is, then the result or what went wrong, line by line."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from strikeproof.errors import BadInput, StoreError
from strikeproof.web.plain import answer_press, stop_work, stream_work, typed_in
from strikeproof.web.work import Job, Step, WorkFailed


def told(start: Callable[[], Job], accept: str = "gzip") -> list[dict[str, Any]]:
    """Every line that a browser gets."""

    async def answer(request: Request) -> Response:
        return stream_work(request, "Comparing", start, lambda found: f"<p>{found}</p>")

    async def ask() -> httpx.Response:
        served = httpx.ASGITransport(Starlette(routes=[Route("/", answer)]))
        async with httpx.AsyncClient(transport=served, base_url="http://bench") as client:
            return await client.get("/", headers={"accept-encoding": accept})

    came = asyncio.run(ask())
    assert came.headers.get("content-encoding", "") == ("gzip" if accept == "gzip" else "")
    return [json.loads(line) for line in came.text.splitlines()]


def ended(result: object = None, error: BaseException | None = None) -> Job:
    job = Job(("work",), result=result, error=error)
    job.ended.set()
    return job


@pytest.mark.parametrize("accept", ["gzip", "identity"])
def test_progress_comes_before_the_result(accept: str) -> None:
    def start() -> Job:
        job = Job(("work",), step=Step(1, 4, "runs read"), result="done")
        asyncio.get_running_loop().call_later(0.05, job.ended.set)
        return job

    assert told(start, accept) == [{"done": 1, "total": 4, "name": "runs read"}, {"markup": "<p>done</p>"}]


def test_what_a_person_can_fix_is_said_with_the_place_and_the_fix() -> None:
    wrong = BadInput("no <b>ring</b>", where="difference", allowed="a name that is there", fix="use one")
    (line,) = told(lambda: ended(error=wrong))
    assert "No &lt;b&gt;ring&lt;/b&gt; (allowed: a name that is there)" in line["error"]
    assert "Where: difference" in line["error"] and "To fix it: use one" in line["error"]


def test_an_error_that_nobody_foresaw_is_named_and_not_swallowed() -> None:
    (line,) = told(lambda: ended(error=WorkFailed("KeyError: 'tool'")))
    assert "mistake of the program (KeyError: &#39;tool&#39;)" in line["error"]


def test_work_that_cannot_begin_says_why() -> None:
    def start() -> Job:
        raise StoreError("the workspace is gone", "look where it went")

    assert "The workspace is gone" in told(start)[0]["error"]


def test_work_that_a_person_started_is_stopped_by_a_word_that_only_its_page_knows() -> None:
    job = Job(("work",)).pressed()

    async def answer(request: Request) -> Response:
        return stream_work(request, "Explaining", lambda: job, str)

    async def ask() -> list[dict[str, Any]]:
        routes = [Route("/", answer), Route("/stop", stop_work, methods=["POST"])]
        said: list[dict[str, Any]] = []

        async def take(message: Any) -> None:
            """What a browser does with each piece as it comes."""
            for line in message.get("body", b"").splitlines():
                said.append(json.loads(line))
                for word in ("guessed", said[0]["job"]) if len(said) == 2 else ():
                    async with httpx.AsyncClient(
                        transport=httpx.ASGITransport(Starlette(routes=routes)), base_url="http://bench"
                    ) as client:
                        assert (await client.post(f"/stop?job={word}")).status_code == 204
                    assert job.ended.is_set() is (word != "guessed")

        async def wait() -> Any:
            await asyncio.sleep(60)

        scope = {"type": "http", "method": "GET", "path": "/", "headers": [], "query_string": b""}
        await Starlette(routes=routes)(scope, wait, take)
        return said

    assert asyncio.run(ask())[-1] == {"stopped": True}  # which is no error


@pytest.mark.parametrize(
    ("do", "key", "word"),
    [
        (lambda: {"go": "/run?run=a"}, "go", "/run?run=a"),
        (lambda: {"go": str(1 / 0)}, "wrong", "mistake of the program (ZeroDivisionError"),
    ],
)
def test_a_press_leads_on_or_says_what_is_wrong(
    do: Callable[[], dict[str, str]], key: str, word: str
) -> None:
    answer = asyncio.run(answer_press("Excluding", do))
    (line,) = [json.loads(each) for each in bytes(answer.body).splitlines()]
    assert list(line) == [key] and word in line[key]


@pytest.mark.parametrize(
    ("body", "found"),
    [(b"why=hose+off&run=%E2%97%8B", {"why": "hose off", "run": "\u25cb"}), (b"a=1&" * 3000, {}), (b"", {})],
)
def test_what_is_typed_in_a_form_comes_by_its_names(body: bytes, found: dict[str, str]) -> None:
    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body}

    assert asyncio.run(typed_in(Request({"type": "http", "headers": []}, receive))) == found
