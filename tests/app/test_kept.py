"""Things kept while what they were made from is the same."""

from __future__ import annotations

from shaftscore_app.runtime.kept import KeptThings


def _get(kept: KeptThings, kind: str, thing: object, key: object = None) -> None:
    kept.get(kind, "Mint", (thing,), key, object)


def test_a_thing_is_made_once_and_again_where_its_object_or_key_is_another() -> None:
    kept, thing = KeptThings(), []
    for made_from, key, made in ((thing, 1, 1), (thing, 1, 1), (thing, 2, 2), ([], 2, 3)):
        _get(kept, "curve", made_from, key)
        assert kept.made["curve"] == made


def test_forgetting_spares_the_kinds_that_it_is_told_to_spare() -> None:
    kept, thing = KeptThings(), object()

    def made() -> tuple[int, int]:
        for kind in ("curve", "picture"):
            _get(kept, kind, thing)
        return kept.made["curve"], kept.made["picture"]

    assert made() == (1, 1)
    kept.forget(but=("curve",))
    assert made() == (1, 2)
    kept.forget()
    assert made() == (2, 3)


def test_what_is_as_the_one_before_stays_and_so_does_what_was_made_from_it() -> None:
    kept = KeptThings()

    def curve(thing: object, points: list[float]) -> list[float]:
        return kept.get("curve", "Mint", (thing,), None, lambda: points, alike=lambda a, b: a == b)

    first, same, other = curve(object(), [1.0]), curve(object(), [1.0]), curve(object(), [2.0])
    assert same is first
    assert other == [2.0]
