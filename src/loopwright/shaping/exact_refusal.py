"""Why no plan of the model shapes an edge, in trade words, with both numbers and what to change."""

from __future__ import annotations

import math

from loopwright.problems import Problem
from loopwright.shaping.exact_model import EdgeLimits, WantedEdge


def why_no_plan(edge: WantedEdge, limits: EdgeLimits) -> Problem:
    """The problem that stops an edge which no plan can shape."""
    most_events = most_events_of(edge, limits)
    largest = max(limits.needles_per_event if edge.needles >= 0 else limits.needles_back, default=0)
    if not limits.bind_off_courses and abs(edge.needles) > most_events * largest:
        return _too_steep(edge, limits, most_events, largest)
    sizes = _listed(limits.needles_per_event)
    return Problem(
        edge.name,
        f"No plan moves {_needles(edge.needles)} in {edge.courses} courses by {sizes} at a time within the limits of "
        f"the first and the last event.",
        limit=_window(edge, limits),
        tries=["allow another number of needles at a time", "a wider window for the events", "move a needle or two"],
    )


def most_events_of(edge: WantedEdge, limits: EdgeLimits) -> int:
    """Most narrowings and widenings that the courses of an edge hold."""
    count, free_from = 0, 0
    for course in limits.event_courses(edge.courses):
        if course >= free_from:
            count, free_from = count + 1, course + limits.courses_between
    return count


def _too_steep(edge: WantedEdge, limits: EdgeLimits, most_events: int, largest: int) -> Problem:
    return Problem(
        edge.name,
        f"{_needles(abs(edge.needles))} do not fit into {edge.courses} courses at {_needles(largest)} "
        f"{_every(limits)}.",
        limit=f"at most {_needles(most_events * largest)} in {most_events} events",
        tries=["more needles at a time", "bind off a part of the needles", "a taller slope"],
    )


def _window(edge: WantedEdge, limits: EdgeLimits) -> str:
    earliest = limits.event_courses(edge.courses)
    if not earliest:
        return f"none of the {edge.courses} courses may have an event"
    first = limits.first_before if limits.first_before is not None else earliest[-1]
    last = limits.last_after if limits.last_after is not None else earliest[0]
    return (
        f"first event at course {earliest[0]} to {first}, last at {last} to {earliest[-1]}, "
        f"{limits.courses_between} courses between"
    )


def _needles(count: int) -> str:
    return f"{count} needle{'s' if abs(count) != 1 else ''}"


def _every(limits: EdgeLimits) -> str:
    apart = limits.step * math.ceil(limits.courses_between / limits.step)
    return "every course" if apart == 1 else f"every {apart} courses"


def _listed(sizes: tuple[int, ...]) -> str:
    words = [str(size) for size in sorted(sizes)]
    return _needles(sizes[0]) if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]} needles"
