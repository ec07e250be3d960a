"""Seasons that were looked at: only the last few keep the reasons behind their figures."""

from loopwright.store.values import Kind
from loopwright.web.season_desk import KEPT_ANSWERS
from loopwright.web.start import demo_documents


async def test_only_the_seasons_last_looked_at_are_kept(house):
    for number in range(KEPT_ANSWERS + 5):
        await house.seasons.work(f"season {number}", [], lambda _: None)
    assert len(house.seasons.answers) == KEPT_ANSWERS
    assert "season 0" not in house.seasons.answers
    assert f"season {KEPT_ANSWERS + 4}" in house.seasons.answers


async def test_a_season_looked_at_again_answers_why_as_before(house):
    kind, document = demo_documents()[0]
    assert kind is Kind.STYLE
    house.shelf.add(kind, document, by="test")
    lines = house.shelf.lines(Kind.STYLE)
    first = await house.seasons.work("winter", lines, lambda _: None)
    again = await house.seasons.work("winter", lines, lambda _: None)
    assert again.parts == first.parts
    assert all(again.reason(key) == first.reason(key) for key in list(first.reasons.figures))
