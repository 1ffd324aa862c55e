"""The demo's sign-ins, printed by `make run` and offered on its sign-in page. They exist nowhere else."""

DEMO_SIGN_INS = (("rowan", "bench-week-demo", "owner"),)
DEMO_PIN = "2468"
"""What every fitter of the demo signs checks with."""
