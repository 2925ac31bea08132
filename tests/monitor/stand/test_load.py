"""Tests for monitor.stand.load."""


def test_x(load, good):
    s = load(good)
    import pprint

    pprint.pprint(s)
    assert 0
