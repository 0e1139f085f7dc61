"""The one door to the computation: a design in, results out."""

from burstwise.core.evaluate.evaluation import evaluate
from burstwise.core.evaluate.report import figures_object, results_object
from burstwise.core.evaluate.results import DutyCurves, Results

__all__ = ["DutyCurves", "Results", "evaluate", "figures_object", "results_object"]
