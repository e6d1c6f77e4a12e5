# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # A first look
#
# The same question three ways: one link of the chain, one vehicle, one study. The craft is invented.

# %%
import tradespace
from tradespace.physics import electrolysis, transfer

print(
    f"cell at 0.3 A/cm2, 80 degC, 1 bar: {float(electrolysis.alkaline_cell_voltage(3000.0, 353.15, 1e5)):.3f} V"
)
print(f"20 km hop on Ceres: {float(transfer.ballistic_hop_speed(62.629e9, 469.7e3, 20e3)):.1f} m/s at launch")

# %% [markdown]
# A study is a text file. Here the shipped one is read, and its reference design answered for each architecture.

# %%
from pathlib import Path

folder = next(place for place in (Path("studies"), Path("../studies")) if place.is_dir())
study = tradespace.load_study(folder / "ceres_surface_hopper.toml")

# %%
from tradespace.evaluate import baseline

table = baseline(study)
print(table[["architecture", "closes", "limited_by", "start_mass", "refuel_time"]].to_string(index=False))
assert table["closes"].any()
assert not table["closes"].all()
