"""What is put right: corrections and withdrawals, and what they say."""

from tests.kitchens import Kitchen, log


def test_a_correction_replaces_the_verdict_and_keeps_the_old_reading(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("14:00", "cool stew 135"),
        ("15:00", "cool stew 96"),
        ("16:00", "cool stew 96"),
    )
    assert "NOT MET" in kitchen.says("show stew")
    old = kitchen.entries()[-1]["seq"]
    answer = log(kitchen, ("16:02", 'correct stew 69 --reason "typed the wrong way round"'))
    assert "stays readable" in answer
    assert f"was replaced by no. {kitchen.entries()[-1]['seq']}" in kitchen.refuses(
        f'correct {old} 50 --reason "again"'
    )
    shown = kitchen.says("show stew")
    assert "NOT MET" not in shown
    assert "REPLACED by" in shown
    assert "typed the wrong way round" in shown


def test_a_correction_that_changes_nothing_is_refused(kitchen: Kitchen) -> None:
    log(kitchen, ("14:00", "cool stew 135"))
    assert "would change" in kitchen.refuses('correct stew 135 --reason "sure"')


def test_a_reading_logged_on_the_wrong_batch_is_withdrawn(kitchen: Kitchen) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 90"))
    number = kitchen.entries()[-1]["seq"]
    kitchen.says(f'correct {number} --withdraw --reason "that was the rice"')
    assert "90 °F" not in kitchen.says("status")
    assert "WITHDRAWN by" in kitchen.says("show stew")


def test_a_withdrawn_batch_is_gone_from_every_command(kitchen: Kitchen) -> None:
    log(kitchen, ("12:30", "cool stew 98"))
    kitchen.says('correct stew --withdraw --reason "wrong pan"')
    opened = next(e["seq"] for e in kitchen.entries() if e["kind"] == "batch")
    kitchen.says(f'correct {opened} --withdraw --reason "never made"')
    for command in ("show stew", 'action stew "x"', "batch soup --from stew", "cool stew 90"):
        assert "There is no" in kitchen.refuses(command)


def test_a_correction_is_asked_about_and_says_what_the_verdict_is_now(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 136"), ("12:20", "cool stew 134"), ("13:40", "cool stew 69"))
    kitchen.at("2026-10-26T13:50-06:00")
    assert "is warmer than" in kitchen.refuses('correct stew 139 --reason "misread"')
    said = kitchen.says('correct stew 89 --reason "misread"')
    assert "TOO SLOW stew 89 °F (13:40). Must be 70 °F or below by 14:10." in said
    kitchen.at("2026-10-26T15:00-06:00")
    said = kitchen.says('correct stew --withdraw --reason "another pan"')
    assert "is now NOT SHOWN" in said


def test_a_correction_is_in_the_kitchens_degree(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "hold well-1 60C"))
    said = kitchen.says('correct well-1 130 --reason "read it wrong"')
    assert "60 °C at 12:10, hot hold" in said and "TOO COLD well-1 130 °F" in said


def test_what_is_withdrawn_is_named(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"))
    said = kitchen.says('correct stew --withdraw --reason "another pan"')
    assert "(135 °F at 12:10, cool) is withdrawn by no." in said
