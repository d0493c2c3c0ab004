"""A dozen shots of the rim: how high may the water stand, and what does every 0.1 m of it cost in soil?

The job is invented.  Run it with `python examples/gallery/highest_water.py`.
"""

from pondwright import api
from pondwright.examples import DOZEN_SHOTS, example_text
from pondwright.job.codec import loads

run = api.compute(loads(example_text(DOZEN_SHOTS)))
pond = run.results.shape.shore.bodies["pond"]
print(f"lowest ground on the shore {pond.rim_low:.3f} m, water at {pond.level:.3f} m")

table = run.results.earth.levels.bodies["pond"]
print("level [m]   dug [m³]   placed [m³]   left over [m³]")
for level, dug, placed, surplus in zip(table.level, table.dug, table.placed, table.surplus, strict=True):
    print(f"{level:9.3f} {dug:10.1f} {placed:z13.1f} {surplus:16.1f}")

# No level was typed, so the water stands the default freeboard, 0.30 m, below the lowest ground.
assert abs(pond.rim_low - pond.level - 0.30) < 1e-9
