"""Working on links alone: loops, gaps that close, parallel links, links that say nothing new."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from builds.engines.composing.network import ComposedLink


def find_loop(links: Iterable[ComposedLink], extra: Iterable[ComposedLink] = ()) -> tuple[str, ...] | None:
    """Find a loop that the links make, with `extra` links added, and give its path.

    Links are (before, after) by task key. Comes back as the keys in order with the first again at the
    end, or None where there is no loop. A loop through an extra link is found first.
    """
    extra = tuple(extra)
    followers = _followers([*links, *extra])
    for link in extra:
        path = _path(followers, link.after, link.before)
        if path is not None:
            return (link.before, *path)
    return _any_loop(followers)


def close_gap(links: Iterable[ComposedLink], key: str, name: str) -> tuple[ComposedLink, ...]:
    """Take the task `key` out of the links, so that its followers inherit what it waited for.

    The inherited link keeps the wait of the link into the missing task; the missing task's own waits go.
    Its window goes too, because a latest start is meant for the task that was left out.
    """
    links = tuple(links)
    before = [link for link in links if link.after == key and link.before != key]
    after = [link for link in links if link.before == key and link.after != key]
    kept = [link for link in links if key not in (link.before, link.after)]
    inherited = [
        replace(into, after=out.after, latest_hours=None, through=into.through or name)
        for into in before
        for out in after
        if into.before != out.after
    ]
    return merge_parallel([*kept, *inherited])


def merge_parallel(links: Iterable[ComposedLink]) -> tuple[ComposedLink, ...]:
    """Keep one link between two tasks: the one with the larger wait, and the tighter window of all."""
    chosen: dict[tuple[str, str], ComposedLink] = {}
    for link in links:
        pair = (link.before, link.after)
        chosen[pair] = _stronger(chosen[pair], link) if pair in chosen else link
    return tuple(chosen.values())


def drop_implied(links: Sequence[ComposedLink]) -> tuple[ComposedLink, ...]:
    """Drop links without wait or window between tasks that a longer path joins anyway.

    The links must make no loop; the order of those that stay is kept.
    """
    followers = _followers(links)
    reach = _reach(followers)
    kept = []
    for link in links:
        plain = link.wait_hours == 0 and link.latest_hours is None
        others = followers[link.before] - {link.after}
        if plain and any(link.after in reach[other] for other in others):
            continue
        kept.append(link)
    return tuple(kept)


def in_order(keys: Iterable[str], links: Iterable[ComposedLink]) -> tuple[str, ...]:
    """Sort keys so that each comes after all it follows, otherwise as given. Keys in a loop come last."""
    keys = tuple(keys)
    followers = _followers(links)
    waiting = dict.fromkeys(keys, 0)
    for befores in followers.values():
        for after in befores:
            waiting[after] = waiting.get(after, 0) + 1
    done: list[str] = []
    left = list(keys)
    while True:
        free = next((key for key in left if waiting[key] == 0), None)
        if free is None:
            return (*done, *left)
        left.remove(free)
        done.append(free)
        for after in followers[free]:
            waiting[after] -= 1


def _stronger(one: ComposedLink, other: ComposedLink) -> ComposedLink:
    longer = other if other.wait_hours > one.wait_hours else one
    windows = [link.latest_hours for link in (one, other) if link.latest_hours is not None]
    return replace(longer, latest_hours=min(windows) if windows else None)


def _followers(links: Iterable[ComposedLink]) -> dict[str, set[str]]:
    followers: dict[str, set[str]] = defaultdict(set)
    for link in links:
        followers[link.before].add(link.after)
    return followers


def _path(followers: dict[str, set[str]], start: str, goal: str) -> tuple[str, ...] | None:
    came: dict[str, str | None] = {start: None}
    stack = [start]
    while stack:
        key = stack.pop()
        if key == goal:
            return tuple(reversed(list(_back(came, key))))
        for after in sorted(followers.get(key, ())):
            if after not in came:
                came[after] = key
                stack.append(after)
    return None


def _back(came: dict[str, str | None], key: str | None) -> Iterable[str]:
    while key is not None:
        yield key
        key = came[key]


def _any_loop(followers: dict[str, set[str]]) -> tuple[str, ...] | None:
    finished: set[str] = set()
    for root in sorted(followers):
        trail: list[str] = []
        stack: list[tuple[str, bool]] = [(root, True)]
        while stack:
            key, entering = stack.pop()
            if not entering:
                finished.add(trail.pop())
            elif key in trail:
                return (*trail[trail.index(key) :], key)
            elif key not in finished:
                trail.append(key)
                stack.append((key, False))
                stack.extend((after, True) for after in sorted(followers.get(key, ())))
    return None


def _reach(followers: dict[str, set[str]]) -> dict[str, set[str]]:
    """All that each key leads to, itself included."""
    reach: dict[str, set[str]] = defaultdict(set)
    for root in reversed(_finishing_order(followers)):
        reach[root] = {root}.union(*(reach[after] for after in followers.get(root, ())))
    return reach


def _finishing_order(followers: dict[str, set[str]]) -> list[str]:
    """Keys so that each comes before all that follows it."""
    order: list[str] = []
    seen: set[str] = set()
    for root in list(followers):
        stack: list[tuple[str, bool]] = [(root, True)]
        while stack:
            key, entering = stack.pop()
            if not entering:
                order.append(key)
            elif key not in seen:
                seen.add(key)
                stack.append((key, False))
                stack.extend((after, True) for after in followers.get(key, ()))
    return order[::-1]
