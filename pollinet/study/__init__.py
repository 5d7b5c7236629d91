"""The one place that joins readers and stages: a plan file in, a `Study` out."""

from pollinet.study.changes import KEPT, Kept
from pollinet.study.garden import WARMER_C, Study
from pollinet.study.opening import Opened, open_plan, open_study

__all__ = ["KEPT", "WARMER_C", "Kept", "Opened", "Study", "open_plan", "open_study"]
