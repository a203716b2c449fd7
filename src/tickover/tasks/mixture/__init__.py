"""Mixture: what each adjuster does, what the readings say, and what to change next.

Everything is told as a change from a set-up that is known or was read, with intervals; pinking,
or lean at full throttle, stops the advice and says so first.
"""

from tickover.tasks.mixture.adjusters import RULE_OF_THUMB, Influence, influence, weights
from tickover.tasks.mixture.advice import (
    Advice,
    Machine,
    MapCell,
    NextReading,
    Step,
    advise,
    map_points,
)
from tickover.tasks.mixture.choosing import Searched, search
from tickover.tasks.mixture.cover import Cover, Want, cheapest_cover, wanted_mains
from tickover.tasks.mixture.drawer import Drawer, HungNeedle, Jet, Slide, jet_marked
from tickover.tasks.mixture.logclean import CleanLog, clean, readings_of
from tickover.tasks.mixture.logfile import Log, read_log
from tickover.tasks.mixture.posterior import Posterior, Prior, Round, fit, predict
from tickover.tasks.mixture.readings import SIGNS, Reading, Sign, parse_lambda, parse_opening
from tickover.tasks.mixture.scoring import Choice, Taste
from tickover.tasks.mixture.stops import Stop, stop_in
from tickover.tasks.mixture.tables import advice_json, readings_from_csv
from tickover.tasks.mixture.target import Target
from tickover.tasks.mixture.trim import Trim, air_of

__all__ = [
    "RULE_OF_THUMB",
    "SIGNS",
    "Advice",
    "Choice",
    "CleanLog",
    "Cover",
    "Drawer",
    "HungNeedle",
    "Influence",
    "Jet",
    "Log",
    "Machine",
    "MapCell",
    "NextReading",
    "Posterior",
    "Prior",
    "Reading",
    "Round",
    "Searched",
    "Sign",
    "Slide",
    "Step",
    "Stop",
    "Target",
    "Taste",
    "Trim",
    "Want",
    "advice_json",
    "advise",
    "air_of",
    "cheapest_cover",
    "clean",
    "fit",
    "influence",
    "jet_marked",
    "map_points",
    "parse_lambda",
    "parse_opening",
    "predict",
    "read_log",
    "readings_from_csv",
    "readings_of",
    "search",
    "stop_in",
    "wanted_mains",
    "weights",
]
