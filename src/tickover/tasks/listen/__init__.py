"""Listen: idle speed, steadiness and a weak cylinder from a recording.

Turns samples and firing angles into a `Listening`, or refuses with a reason and what to do.
Reads recordings through soundfile; knows nothing of pages. It never says which cylinder is
weak: a recording only numbers the firings, and a mechanic with a wet rag names them.
"""

from tickover.tasks.listen.analysis import analyse
from tickover.tasks.listen.comparison import Comparison, compare
from tickover.tasks.listen.listening import CAUTIONS, Listening, Refusal, Slot

__all__ = ["CAUTIONS", "Comparison", "Listening", "Refusal", "Slot", "analyse", "compare"]
