"""Larkmeadow: move the water to where the soil dug is the soil placed, by an edit, and look again.

The job is invented.  Run it with `python examples/gallery/level_that_balances.py`.
"""

from pondwright import api
from pondwright.examples import LARKMEADOW, example_text
from pondwright.job.codec import loads
from pondwright.job.edits import read_edit

job = loads(example_text(LARKMEADOW))
before = api.compute(job)
level = before.results.earth.balance.balanced_level
edit = read_edit(
    {
        "id": "balance",
        "base": 0,
        "label": "Water to where the soil balances",
        "ops": [{"op": "replace", "path": "/shape/bodies/pond/level", "value": level}],
    }
)
after = api.compute(api.edit(job, edit), after=before)

for when, run in (("before", before), ("after", after)):
    soil = run.results.earth.soil
    print(f"{when}: dug {soil.dug:.1f} m³, placed {soil.placed:.1f} m³, left over {soil.surplus_bank:.2f} m³")

# What is left over is less than a wheelbarrow in a thousand.
assert abs(after.results.earth.soil.surplus_bank) < 0.001 * after.results.earth.soil.dug
