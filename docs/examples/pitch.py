"""Pitch against pressure drop and margin.

The wider slats stand apart, the less pressure the air loses; the taller they must be then, so that
no straight line passes. Blocks of 80 x 60 mm, each row with another pitch, 30 m³/h drawn in. A row
that would leave a straight line open is refused and says what would close it. No solid is built:
`Parts.table()` holds every dimension and K, on the velocity in the opening, here at 1.2 kg/m³.
Predicted values, not measured ones.
"""

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt

from vent_family import Parts
from vent_family.base.problems import InputError

rows = [f"V-{n},rectangular,80x60,draft,{n / 10:g}" for n in range(70, 131, 5)]
parts = Parts.from_text("\n".join(["part_number,family,size,status,pitch_mm", *rows]))
table = parts.table()
for number in parts.part_numbers:
    try:
        parts.spec(number)
    except InputError as error:
        print(f"{number} is refused: {error.problems[0].suggestion}.")

velocity_m_s = 30.0 / 3600.0 / (table["opening_mm2"] / 1e6)
drop_pa = table["k_in"] * 0.5 * 1.2 * velocity_m_s**2
best = drop_pa.idxmin()
print(f"Least at {table.loc[best, 'pitch_mm']:g} mm: {drop_pa[best]:.0f} Pa")

figure, left = plt.subplots(figsize=(7, 4), layout="constrained")
left.plot(table["pitch_mm"], drop_pa, "o", color="#1f6f8b")
left.set(xlabel="pitch, mm", ylabel="pressure drop at 30 m³/h, Pa", ylim=(0, None))
right = left.twinx()
right.plot(table["pitch_mm"], table["sight_margin_mm"], "s", color="#b5651d", fillstyle="none")
right.set(ylabel="margin by which every straight line misses, mm", ylim=(0, None))
left.yaxis.label.set_color("#1f6f8b")
right.yaxis.label.set_color("#b5651d")
figure.savefig("pitch.png", dpi=110)
