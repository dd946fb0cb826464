"""The printable check-list: what is always true, gathered once. Common practice, no source."""

CHECK_LIST: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Before you cut",
        (
            "Read your class rules yourself; only the limits that you entered were checked.",
            "Find out where the stands meet metal: a deck lid's hinges and latch are not made for the load.",
            "Plan the front end with the wing: never a splitter or air dam without it.",
        ),
    ),
    (
        "Before the first lap",
        (
            "Proof-load the mounts, nobody under or beside them. Nothing may move, crack or stay bent.",
            "Fit a tether. Set the angle with a gauge on the chord line, the car on a level floor.",
            "Tufts on the roof and under the wing. Measure the gap under the front at full compression.",
            "Closed course, the event's rules, an observer. Build up speed; stop if anything is loose.",
        ),
    ),
    (
        "After each session",
        (
            "Look for cracks at feet, stands, plates; re-torque the bolts; look for scrape marks in front.",
            "Check tyre wear, brake and water temperature, oil pressure in the long corners.",
            "Raise the angle one step only after a clean session; note angle, lap and balance.",
        ),
    ),
)
