"""The one place that joins readers and stages: a plan file in, a `Study` out."""

from pollinet.study.garden import WARMER_C, Study
from pollinet.study.opening import Opened, open_plan, open_study

__all__ = ["WARMER_C", "Opened", "Study", "open_plan", "open_study"]
