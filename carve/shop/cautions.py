"""The usual cautions. They replace no manual, no local rule and no licensed practice."""

CAUTIONS: tuple[str, ...] = (
    "A router, a saw and a flying blank can maim: follow the machine's manual and your local "
    "rules, wear eye and ear protection, keep hands and sleeves away while anything turns.",
    "Clamp the blank so that it holds when cut through, and run the program above the wood first.",
    "Fine wood dust harms the lungs: extract it at the source and wear a fitted dust mask.",
    "These files hold shapes, not toolpaths: feeds, speeds, tools and stops are for your CAM "
    "program and your judgement.",
)
"""Sentences to print with whatever leads to a cut."""
