import pytest

from supervisor.alarms.cautions import MOMENTS, all_cautions, cautions

# What must be said before anybody melts metal, whatever else is shown.
BEFORE_ANY_MELT = {
    "not-the-protection", "local-rules", "never-left", "water", "closed-parts", "unknown-metal", "fume", "clothing",
    "others", "distance", "concrete", "spill", "fire", "burn",
}  # fmt: skip


@pytest.mark.parametrize("moment", ["first_run", "before_start"])
def test_first_run_and_every_start_say_what_must_be_said_before_any_melt(moment: str) -> None:
    assert {caution.id for caution in cautions(moment)} >= BEFORE_ANY_MELT


def test_first_run_leaves_out_nothing_that_a_start_says_but_what_follows_an_outage() -> None:
    first_run = {caution.id for caution in cautions("first_run")}
    assert {caution.id for caution in cautions("before_start")} - first_run == {"after-power-failure"}


def test_mains_is_named_at_first_run_at_wiring_and_at_maintenance() -> None:
    for moment in ("first_run", "wiring", "maintenance"):
        assert "mains" in {caution.id for caution in cautions(moment)}


@pytest.mark.parametrize("moment", MOMENTS)
def test_every_moment_has_its_cautions(moment: str) -> None:
    assert cautions(moment)


def test_every_caution_has_an_id_of_its_own_and_says_where_it_comes_from() -> None:
    ids = [caution.id for caution in all_cautions()]
    assert len(set(ids)) == len(ids)
    for caution in all_cautions():
        assert caution.title.strip(), caution.id
        assert caution.say.endswith("."), caution.id
        assert caution.basis.endswith("."), caution.id
        assert set(caution.when) <= MOMENTS.keys(), caution.id
        assert caution.when, caution.id


def test_an_unknown_moment_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="moment is 'lunch'; allowed: first_run, "):
        cautions("lunch")
