"""Published properties of bare overhead conductors, row by row as printed; `conductors` turns them into SI.

Size is in AWG or kcmil; diameter in inches, geometric mean radius (GMR) in feet, resistance in ohm per mile at 60 Hz
and 50 C, as the tables print them. Rows known better than the table as a whole say so in `BETTER_KNOWN`.
"""

from __future__ import annotations

from typing import Final

from groundlint.electrical.physics.provenance import HowKnown, Provenance

ImperialRow = tuple[str, str, float, float, float, str]
"""Size, stranding, diameter in, GMR ft, ohm/mile at 50 C and 60 Hz, code word of the trade (or empty)."""

MetricRow = tuple[float, float, str, float, float]
"""Aluminium mm2, steel mm2, stranding, diameter mm, DC ohm/km at 20 C."""

KERSTING: Final = Provenance(
    "conductor table of distribution line textbooks (Kersting, Distribution System Modeling and Analysis, appendix A; "
    "lineage: Westinghouse Transmission and Distribution Reference Book)",
    HowKnown.MEMORY,
)
BETTER_KNOWN: Final[dict[tuple[str, str], HowKnown]] = {
    ("acsr", "556.5 26/7"): HowKnown.SEEN,
    ("acsr", "4/0 6/1"): HowKnown.SEEN,
    ("acsr", "336.4 26/7"): HowKnown.RECOMPUTES,
    ("acsr", "1/0 6/1"): HowKnown.RECOMPUTES,
    ("acsr", "2 6/1"): HowKnown.RECOMPUTES,
    ("acsr", "4 6/1"): HowKnown.RECOMPUTES,
    ("aluminium", "636 37"): HowKnown.DERIVED,
    ("aluminium", "715.5 37"): HowKnown.DERIVED,
    ("aluminium", "795 37"): HowKnown.DERIVED,
}
"""GMR and resistance of these were seen in the IEEE test feeder data, or reproduce its printed matrices; derived ones
have their GMR from the stranding, as the remembered one was more than any strand can have."""

ACSR: Final[tuple[ImperialRow, ...]] = (
    ("6", "6/1", 0.198, 0.00394, 3.98, "turkey"),
    ("4", "6/1", 0.250, 0.00437, 2.57, "swan"),
    ("4", "7/1", 0.257, 0.00452, 2.55, "swanate"),
    ("3", "6/1", 0.281, 0.00430, 2.07, "swallow"),
    ("2", "6/1", 0.316, 0.00418, 1.69, "sparrow"),
    ("2", "7/1", 0.325, 0.00504, 1.65, "sparate"),
    ("1", "6/1", 0.355, 0.00418, 1.38, "robin"),
    ("1/0", "6/1", 0.398, 0.00446, 1.12, "raven"),
    ("2/0", "6/1", 0.447, 0.00510, 0.895, "quail"),
    ("3/0", "6/1", 0.502, 0.00600, 0.723, "pigeon"),
    ("4/0", "6/1", 0.563, 0.00814, 0.592, "penguin"),
    ("266.8", "26/7", 0.642, 0.0217, 0.385, "partridge"),
    ("300", "26/7", 0.680, 0.0230, 0.342, "ostrich"),
    ("336.4", "26/7", 0.721, 0.0244, 0.306, "linnet"),
    ("336.4", "30/7", 0.741, 0.0255, 0.306, "oriole"),
    ("397.5", "26/7", 0.783, 0.0265, 0.259, "ibis"),
    ("397.5", "30/7", 0.806, 0.0278, 0.259, "lark"),
    ("477", "26/7", 0.858, 0.0290, 0.216, "hawk"),
    ("477", "30/7", 0.883, 0.0304, 0.216, "hen"),
    ("556.5", "26/7", 0.927, 0.0313, 0.1859, "dove"),
    ("556.5", "30/7", 0.953, 0.0328, 0.1859, "eagle"),
    ("605", "26/7", 0.966, 0.0327, 0.172, "squab"),
    ("605", "54/7", 0.953, 0.0321, 0.1775, "peacock"),
    ("636", "26/7", 0.990, 0.0335, 0.1618, "grosbeak"),
    ("636", "54/7", 0.977, 0.0329, 0.1688, "rook"),
    ("666.6", "54/7", 1.000, 0.0337, 0.1601, "flamingo"),
    ("715.5", "26/7", 1.051, 0.0355, 0.1442, "starling"),
    ("715.5", "54/7", 1.036, 0.0349, 0.1482, "crow"),
    ("795", "26/7", 1.108, 0.0375, 0.1288, "drake"),
    ("795", "54/7", 1.093, 0.0368, 0.1378, "condor"),
    ("874.5", "54/7", 1.146, 0.0386, 0.1228, "crane"),
    ("900", "54/7", 1.162, 0.0391, 0.1185, "canary"),
    ("954", "54/7", 1.196, 0.0403, 0.1128, "cardinal"),
    ("1033.5", "54/7", 1.246, 0.0420, 0.1035, "curlew"),
    ("1113", "54/19", 1.293, 0.0435, 0.0969, "finch"),
    ("1192.5", "54/19", 1.338, 0.0450, 0.0906, "grackle"),
    ("1272", "54/19", 1.382, 0.0465, 0.0851, "pheasant"),
    ("1351.5", "54/19", 1.424, 0.0479, 0.0803, "martin"),
    ("1431", "54/19", 1.465, 0.0493, 0.0760, "plover"),
    ("1510.5", "54/19", 1.506, 0.0507, 0.0720, "parrot"),
    ("1590", "54/19", 1.545, 0.0520, 0.0684, "falcon"),
)

COPPER: Final[tuple[ImperialRow, ...]] = (
    ("8", "solid", 0.1285, 0.00416, 3.80, ""),
    ("6", "solid", 0.1620, 0.00526, 2.39, ""),
    ("4", "solid", 0.2040, 0.00663, 1.503, ""),
    ("3", "solid", 0.2290, 0.00745, 1.192, ""),
    ("2", "7", 0.292, 0.00883, 0.964, ""),
    ("2", "solid", 0.258, 0.00836, 0.945, ""),
    ("1", "7", 0.328, 0.00992, 0.765, ""),
    ("1/0", "7", 0.368, 0.01113, 0.607, ""),
    ("2/0", "7", 0.414, 0.01252, 0.481, ""),
    ("3/0", "7", 0.464, 0.01404, 0.382, ""),
    ("3/0", "12", 0.492, 0.01559, 0.382, ""),
    ("4/0", "7", 0.522, 0.01579, 0.303, ""),
    ("4/0", "12", 0.552, 0.0175, 0.303, ""),
    ("4/0", "19", 0.528, 0.01668, 0.303, ""),
    ("250", "19", 0.574, 0.01813, 0.257, ""),
    ("250", "12", 0.600, 0.01902, 0.257, ""),
    ("300", "19", 0.629, 0.01987, 0.215, ""),
    ("350", "19", 0.679, 0.0214, 0.1845, ""),
    ("400", "19", 0.726, 0.0229, 0.1619, ""),
    ("450", "19", 0.770, 0.0243, 0.1443, ""),
    ("500", "19", 0.811, 0.0256, 0.1303, ""),
    ("500", "37", 0.814, 0.0260, 0.1303, ""),
    ("600", "37", 0.891, 0.0285, 0.1095, ""),
)

ALUMINIUM: Final[tuple[ImperialRow, ...]] = (
    ("6", "7", 0.184, 0.00555, 3.903, "peachbell"),
    ("4", "7", 0.232, 0.00700, 2.453, "rose"),
    ("2", "7", 0.292, 0.00883, 1.541, "iris"),
    ("1", "7", 0.328, 0.00991, 1.224, "pansy"),
    ("1/0", "7", 0.368, 0.0111, 0.970, "poppy"),
    ("2/0", "7", 0.414, 0.0125, 0.769, "aster"),
    ("3/0", "7", 0.464, 0.0140, 0.611, "phlox"),
    ("4/0", "7", 0.522, 0.0158, 0.484, "oxlip"),
    ("250", "7", 0.567, 0.0171, 0.410, "sneezewort"),
    ("266.8", "7", 0.586, 0.0177, 0.384, "daisy"),
    ("300", "19", 0.629, 0.0198, 0.342, ""),
    ("336.4", "19", 0.666, 0.0210, 0.305, "tulip"),
    ("350", "19", 0.679, 0.0214, 0.294, ""),
    ("397.5", "19", 0.724, 0.0228, 0.258, "canna"),
    ("477", "37", 0.795, 0.0254, 0.216, "syringa"),
    ("500", "19", 0.811, 0.0256, 0.206, "zinnia"),
    ("556.5", "37", 0.858, 0.0275, 0.186, "mistletoe"),
    ("636", "37", 0.918, 0.0294, 0.163, "orchid"),
    ("715.5", "37", 0.974, 0.0312, 0.145, "violet"),
    ("795", "37", 1.026, 0.0328, 0.131, "arbutus"),
)

ALLOY_6201: Final[tuple[tuple[str, str, float, str], ...]] = (
    ("48.69", "7", 0.250, "alton"),
    ("77.47", "7", 0.316, "ames"),
    ("123.3", "7", 0.398, "azusa"),
    ("155.4", "7", 0.447, "anaheim"),
    ("195.7", "7", 0.502, "amherst"),
    ("246.9", "7", 0.563, "alliance"),
    ("312.8", "19", 0.642, "butte"),
    ("394.5", "19", 0.721, "canton"),
    ("465.4", "19", 0.783, "cairo"),
    ("559.5", "19", 0.858, "darien"),
    ("652.4", "19", 0.927, "elgin"),
    ("740.8", "37", 0.991, "flint"),
    ("927.2", "37", 1.108, "greeley"),
)
"""Size kcmil, strands, diameter in, code word; resistance and GMR follow from metal and stranding. ASTM B399 sizes,
from memory."""

ACSR_BY_STRANDS: Final[tuple[tuple[str, str, float, str], ...]] = (
    ("266.8", "18/1", 0.609, "waxwing"),
    ("336.4", "18/1", 0.684, "merlin"),
    ("397.5", "18/1", 0.743, "chickadee"),
    ("477", "18/1", 0.814, "pelican"),
    ("556.5", "18/1", 0.879, "osprey"),
    ("636", "18/1", 0.940, "kingbird"),
    ("795", "45/7", 1.063, "tern"),
    ("954", "45/7", 1.165, "rail"),
    ("1033.5", "45/7", 1.213, "ortolan"),
    ("1113", "45/7", 1.259, "bluejay"),
    ("1192.5", "45/7", 1.302, "bunting"),
    ("1272", "45/7", 1.345, "bittern"),
    ("1351.5", "45/7", 1.385, "dipper"),
    ("1431", "45/7", 1.427, "bobolink"),
    ("1510.5", "45/7", 1.466, "nuthatch"),
    ("1590", "45/7", 1.504, "lapwing"),
    ("1780", "84/19", 1.602, "chukar"),
    ("2156", "84/19", 1.762, "bluebird"),
)
"""Size kcmil, stranding, diameter in, code word; resistance and GMR follow from metal and stranding. ASTM B232 sizes,
from memory."""

ALUMINIUM_BY_STRANDS: Final[tuple[tuple[str, str, float, str], ...]] = (
    ("874.5", "61", 1.077, "anemone"),
    ("954", "37", 1.124, "magnolia"),
    ("1033.5", "37", 1.170, "bluebell"),
    ("1113", "61", 1.216, "marigold"),
    ("1192.5", "61", 1.259, "hawthorn"),
    ("1272", "61", 1.300, "narcissus"),
    ("1351.5", "61", 1.340, "columbine"),
    ("1431", "61", 1.379, "carnation"),
    ("1590", "61", 1.454, "coreopsis"),
    ("1750", "61", 1.525, "jessamine"),
)
"""Size kcmil, strands, diameter in, code word; resistance and GMR follow from metal and stranding. ASTM B231 sizes,
from memory."""

DIN_ACSR: Final[tuple[MetricRow, ...]] = (
    (15.3, 2.5, "6/1", 5.4, 1.8793),
    (23.9, 4.0, "6/1", 6.8, 1.2028),
    (34.4, 5.7, "6/1", 8.1, 0.8353),
    (48.3, 8.0, "6/1", 9.6, 0.5946),
    (69.9, 11.4, "26/7", 11.7, 0.4130),
    (94.4, 15.3, "26/7", 13.6, 0.3060),
    (121.6, 19.8, "26/7", 15.5, 0.2376),
    (148.9, 24.2, "26/7", 17.1, 0.1939),
    (183.8, 29.8, "26/7", 19.0, 0.1571),
    (209.1, 34.1, "26/7", 20.3, 0.1380),
    (243.0, 39.5, "26/7", 21.8, 0.1188),
    (304.3, 49.5, "26/7", 24.4, 0.0949),
    (381.7, 49.5, "54/7", 27.0, 0.0757),
    (434.3, 56.3, "54/7", 28.8, 0.0666),
    (490.3, 63.6, "54/7", 30.6, 0.0590),
    (549.7, 71.3, "54/7", 32.4, 0.0526),
    (678.6, 86.0, "54/19", 36.0, 0.0426),
)
DIN_ACSR_NOMINAL: Final = (
    "16",
    "25",
    "35",
    "50",
    "70",
    "95",
    "120",
    "150",
    "185",
    "210",
    "240",
    "300",
    "380",
    "435",
    "490",
    "550",
    "680",
)
DIN: Final = Provenance("DIN 48204 / EN 50182 aluminium conductors, steel reinforced", HowKnown.MEMORY)

DIN_STRANDED: Final[tuple[tuple[str, int, float], ...]] = (
    ("16", 7, 1.70),
    ("25", 7, 2.10),
    ("35", 7, 2.50),
    ("50", 19, 1.80),
    ("70", 19, 2.10),
    ("95", 19, 2.50),
    ("120", 19, 2.80),
    ("150", 37, 2.25),
    ("185", 37, 2.50),
    ("240", 61, 2.25),
    ("300", 61, 2.50),
)
"""Nominal mm2, number of strands, strand diameter mm, for copper and aluminium alike."""
DIN_WIRES: Final = Provenance(
    "DIN 48201 stranding; resistance from strand area and resistivity", HowKnown.MEMORY, "2 % added for the lay"
)

CLAD_STEEL: Final[tuple[tuple[str, int, float], ...]] = (
    ("7 no 5", 7, 0.1819),
    ("7 no 6", 7, 0.1620),
    ("7 no 7", 7, 0.1443),
    ("7 no 8", 7, 0.1285),
    ("7 no 9", 7, 0.1144),
    ("7 no 10", 7, 0.1019),
    ("3 no 6", 3, 0.1620),
)
"""Aluminium-clad steel shield wire: name, strands, strand diameter in (AWG)."""

STEEL_STRAND: Final[tuple[tuple[str, int, float], ...]] = (
    ("1/4", 7, 0.080),
    ("5/16", 7, 0.104),
    ("3/8", 7, 0.120),
    ("7/16", 7, 0.145),
    ("1/2", 7, 0.165),
)
"""Zinc-coated steel strand (ASTM A475 sizes, from memory): nominal in, strands, strand diameter in."""

GMR_SHARE: Final[dict[str, float]] = {
    "solid": 0.7788,
    "3": 0.6778,
    "7": 0.7256,
    "12": 0.7605,
    "18/1": 0.7764,
    "19": 0.7577,
    "37": 0.7678,
    "61": 0.7722,
    "26/7": 0.8116,
    "30/7": 0.8260,
    "45/7": 0.7939,
    "54/7": 0.8099,
    "54/19": 0.8099,
    "84/19": 0.8010,
}
"""GMR as a share of the outer radius for a stranding of non-magnetic strands; standard results, recomputable."""
