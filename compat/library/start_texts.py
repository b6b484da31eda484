"""The words of a shop to begin with: what its files say, and what they say of themselves."""

from __future__ import annotations

from compat.record import record
from compat.shop.words import SETS

__all__ = ["BUILDS", "ENGINE", "OWN_RULES", "PARTS", "SHOP", "SUPPLIERS", "TEXTS", "Texts"]


SHOP = """\
# Your shop. Every name, number and price in this folder is a placeholder for your own; the engine in it is
# invented. Write over it from top to bottom, and ask `compat lint` whether the files still hold together.
#
# What to change first:
#   1. here: name, currency and hourly rate
#   2. catalog/engine.yaml: name and numbers of your first engine, and what it was rated at
#   3. catalog/parts: what you have measured or read of its parts; what you do not know, take out: the check
#      then says `unknown` and names what to measure, where a wrong number would pass for a right one
#   4. catalog/builds: what your customer wants
# Then: `compat check as-it-stands`, `compat check more-power`, `compat needs rod`.
- shop: our-shop
  name: Our engine shop
  currency: GBP
  labour_rate: 60 GBP                          # for an hour of work
  # Words and rules that come with the program and get better with it; this shop looks after
  # {what}.
  # `compat lint` lists which rules look beyond these sets, and so are held by nobody here.
{uses}
  # A rule that you do not hold with: name it here, and say why. Every report repeats it.
  # leave_out: {{rod-to-stroke-ratio: "we build long strokes and know what they wear"}}
"""

LATER = """
# What no part here states, as nothing here says what is burned and how: whoever tunes the engine does.
- more_specs: setup
  specs:
    cylinder_pressure: {unit: bar, is: "highest pressure in a cylinder that the tuner lets come about"}
    boost: {unit: kPa, is: "gauge pressure in the manifold; 0 kPa without a charger"}
"""

LATER_RATIO = """\
    compression_ratio: {unit: number, is: "with the head and gasket that go on"}
"""

SUPPLIERS = """\
# Who sells you parts. A part names one in `sold_by`, with code and price.
- supplier: our-supplier
  name: First supplier
  currency: GBP
  lead: 5 days                                 # where a price says nothing else
"""

ENGINE = """\
# Your first engine: a family is what shares a block pattern, a variant is one version as the factory made it.
- family: our-family
  name: Our first family
  numbers: {numbers}
  firing_order: {firing_order}

- variant: our-engine
  name: Our first engine
  family: our-family
  # what the factory rated it at: `compat check our-engine` holds it against that
  rated: {rated}
"""

OWN_RULES = """\
# Rules and figures of your own. A rule says what must hold, why, and where you have it from:
#
# - rule: our-bore-limit
#   title: Bore that we still trust
#   measure: block.bore_diameter - block.standard_bore
#   at_most: 0.75 mm
#   else: conflict
#   why: Beyond that two of our blocks cracked between the bores.
#   source: own experience
#
# One that stands for a rule of the program says so and why, and every report repeats it:
#
# - rule: our-ring-rule
#   instead_of: rod-to-stroke-ratio
#   reason: our long-stroke engines live with less
#   ...
"""

STATED = """\

# The program works these out from ports, cams, charger and fuel, none of which this shop keeps. Here they are
# what the tuner says, in the `setup` of a variant or build. Too low a figure passes weak parts: ask for the
# worst.
- figure: design_pressure_at_power
  instead_of: design_pressure_at_power
  reason: &why whoever tunes the engine says it; this shop keeps no ports, cams and fuel
  name: Cylinder pressure that parts are built for at peak power
  unit: bar
  is: setup.cylinder_pressure
  source: the tuner's word
- figure: design_pressure_at_torque
  instead_of: design_pressure_at_torque
  reason: *why
  name: Cylinder pressure that parts are built for at peak torque
  unit: bar
  is: setup.cylinder_pressure
  source: the tuner's word
- figure: boost
  instead_of: boost
  reason: *why
  name: Boost
  unit: kPa
  is: setup.boost
  source: the tuner's word
- figure: design_manifold_pressure
  instead_of: design_manifold_pressure
  reason: *why
  name: Manifold pressure at peak torque, absolute
  unit: kPa
  is: 101.325*kPa + setup.boost
  source: the tuner's word, on a day at sea level
- figure: design_exhaust_pressure
  instead_of: design_exhaust_pressure
  reason: *why
  name: Exhaust pressure at peak torque, absolute
  unit: kPa
  is: 111*kPa + 1.5*setup.boost
  basis: estimate
  source: "common practice: 10 kPa in the exhaust, before a usual turbine 1.5 times the boost more"
- figure: design_half_burned
  instead_of: design_half_burned
  reason: *why
  name: Half the charge burned after top dead centre
  unit: deg
  is: 8*deg
  basis: estimate
  source: "common practice: half is burned about 8 degrees after top dead centre at the best timing"

# A goal is changed more quickly than what was said beside it: a pressure or boost left standing from a weaker
# goal would pass weak parts.
- rule: stated-pressure-fits-torque
  title: Pressure that the tuner states, for the torque asked
  measure: setup.cylinder_pressure/bmep
  at_least: 5.8
  else: conflict
  remedies: [{do: "State the cylinder pressure of this goal in the build's `setup`; ask whoever tunes it."}]
  why: Engines peak at six to seven times their mean effective pressure; here parts are judged by less.
  source: "common practice: 5 to 6.5 times the mean effective pressure, an eighth more in quick cycles"
- rule: stated-boost-fits-torque
  title: Boost that the tuner states, for the torque asked
  measure: bmep/(1300*kPa)*101.325*kPa
  at_most: 101.325*kPa + setup.boost
  else: conflict
  unit: kPa
  remedies: [{do: "State the boost of this goal in the build's `setup`, above ambient; ask whoever tunes it."}]
  why: Torque grows with manifold pressure; without a charger 13 bar of mean pressure is about the most.
  source: common practice
"""

STATED_RATIO = """\
- figure: compression_ratio
  instead_of: compression_ratio
  reason: whoever puts the head on says it; this shop keeps no heads and gaskets
  name: Compression ratio with the head that goes on
  unit: number
  is: setup.compression_ratio
  source: the customer's word
"""

PARTS = """\
# {title} of our first engine: one entry a part, every spec that a rule of the shop asks.
# Placeholders: write over what you measured, with tolerance as on a drawing, and take out what you do not know.
"""

BUILDS = {
    "as-it-stands": """\
# The engine as it was made, at what it was rated at. Meant to go together: `compat check as-it-stands` ends
# with 0.
- build: as-it-stands
  name: The engine as it stands
  variant: our-engine
""",
    "more-power": """\
# The same engine asked for more than it was made for. Meant to fall short: `compat check more-power` ends
# with 1 and says of what, by how much, and what would help.
- build: more-power
  name: The same engine, asked for more
  variant: our-engine
""",
}


@record
class Texts:
    """What differs from size to size."""

    uses: tuple[str, ...]
    more_power: str
    """Goal and setup of the build that asks too much."""
    what: str
    """What the shop looks after."""
    later: str = ""
    """What it asks of its builds, as it keeps no parts that would tell."""
    stated: str = ""
    """Figures that rest on that."""


TEXTS = {
    "short-block": Texts(
        uses=SETS[:2],
        more_power="  setup: {cylinder_pressure: 160 bar, boost: 120 kPa}\n"
        "  goal: {power: 210 kW, at: 6200 rpm, torque: 360 N*m, torque_at: 4200 rpm, rev_limit: 7600 rpm, "
        "duty: track}\n",
        later=LATER + LATER_RATIO,
        stated=STATED + STATED_RATIO,
        what="short blocks: block, crankshaft, rods, pistons, bearings",
    ),
    "long-block": Texts(
        uses=SETS[:6],
        more_power="  setup: {cylinder_pressure: 160 bar, boost: 120 kPa}\n"
        "  goal: {power: 210 kW, at: 6200 rpm, torque: 360 N*m, torque_at: 4200 rpm, rev_limit: 7600 rpm, "
        "duty: track}\n",
        later=LATER,
        stated=STATED,
        what="engines from the oil pan to the cam cover, without what hangs on them",
    ),
    "whole": Texts(
        uses=SETS,
        more_power="  goal: {power: 140 kW, at: 7200 rpm, torque: 200 N*m, torque_at: 5200 rpm, "
        "rev_limit: 7600 rpm, fuel: our-fuel, duty: track}\n",
        what="whole engines, from air filter to gearbox",
    ),
}
