"""Look: a person's yes or no."""

from daq.capture.look import Look


def test_an_answer_makes_it_complete():
    for passed in (True, False):
        look = Look()
        assert not look.done
        assert look.result().measured is None
        look.answer(passed, "pitted face" if not passed else "")
        assert look.done
        result = look.result()
        assert result.complete
        assert result.measured.value == float(passed)
        assert result.measured.unit == "1"
        assert result.detail["passed"] is passed


def test_the_last_answer_counts():
    look = Look()
    look.answer(True)
    look.answer(False, "a crack at the seat")
    assert look.result().measured.value == 0.0
    assert look.result().detail["note"] == "a crack at the seat"
    assert look.progress().done
