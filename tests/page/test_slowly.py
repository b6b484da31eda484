"""Work of seconds, done aside: each who asks gets what came of what they asked, whoever else asks meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from time import monotonic, sleep

import pytest

from compat.checking.session import Session
from compat.library.library import build_of_id
from compat.library.opening import open_library
from compat.library.sources import demo_folder
from compat.page.slowly import Slowly, doubted
from compat.shop.builds import ReadyBuild


@pytest.fixture
def slowly() -> Iterator[Slowly]:
    aside = Slowly(demo_folder(), cache=True)
    yield aside
    aside.close()


@pytest.fixture
def session() -> Session:
    library = open_library(demo_folder())
    return Session(library.shop, library.book, behind=library.answers)


def drafts(session: Session) -> tuple[ReadyBuild, ReadyBuild]:
    """One build on two tables: as its file has it, and with another plug."""
    ready = build_of_id(session.shop, "fell-30-top-end")
    plug = next(one for one in session.shop.fillers["spark_plug"] if one != ready.part_in("spark_plug"))
    return ready, ready.fitting(spark_plug=plug)


def test_two_who_changed_one_build_otherwise_each_get_their_own(slowly: Slowly, session: Session) -> None:
    one, two = drafts(session)
    found = {}
    begun = monotonic()
    while len(found) < 2:
        for who, ready in (("a", one), ("b", two)):
            came = slowly.look(who, doubted, session, ready)
            if came is not None:
                found[who] = came
        assert monotonic() - begun < 120
        sleep(0.02)
    assert found == {"a": doubted(session, one), "b": doubted(session, two)}


def test_who_asks_anew_waits_no_longer_for_what_came_before(slowly: Slowly, session: Session) -> None:
    one, two = drafts(session)
    plugs = [plug for plug in session.shop.fillers["spark_plug"] if plug != one.part_in("spark_plug")]
    first, _ = slowly._asked("a", doubted, session, one, ())
    waiting, begun = slowly._asked("a", doubted, session, two, ())
    also, begun_again = slowly._asked("b", doubted, session, two, ())
    assert (begun, begun_again) == (True, False)
    assert also is waiting
    slowly._asked("a", doubted, session, one.fitting(spark_plug=plugs[-1]), ())
    assert not waiting.cancelled()  # another waits for it still
    slowly._asked("b", doubted, session, one, ())
    assert waiting.cancelled()
    assert first.result(120) is not None
