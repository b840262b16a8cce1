"""A few restarts of the campaign: cut anywhere, and nothing heats. The full number runs by command."""

from tests.campaigns.restart import restarts


def test_wherever_a_firing_is_cut_nothing_heats_again_by_itself() -> None:
    found = restarts(30, seed=2, workers=1)
    assert len(found) == 30
    assert [cut for cut in found if cut.fault] == []
    assert {cut.power for cut in found} == {True, False}
    assert any(cut.left_open for cut in found)
