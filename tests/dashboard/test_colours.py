"""The verdicts' colours are told apart, and read on their ground, by every kind of eye.

Simulation of missing cones: Machado, Oliveira and Fernandes (2009), severity 1.0, matrices on
linear RGB; contrast: WCAG 2.2, success criteria 1.4.3 and 1.4.11; colour difference: CIE 1976 Lab.
The matrices and formulas are written from memory.
"""

import itertools
import re

import pytest

from barrelfit.dashboard.html.page_html import asset

TONES = ("serviceable", "rework", "discard", "undecided")
EYES = {
    "three cones": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "no long cone": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "no middle cone": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "no short cone": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def themes():
    blocks = re.findall(r"\.board(?:\[data-dark=\"yes\"\])? \{([^}]*)\}", asset("live.css"))
    return [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})\b", block)) for block in blocks[:2]]


def linear(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    return [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]


def seen(colour, eye):
    rgb = linear(colour)
    return [min(max(sum(w * c for w, c in zip(row, rgb, strict=True)), 0), 1) for row in EYES[eye]]


def luminance(rgb):
    return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]


def contrast(one, other):
    light, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dim + 0.05)


def lab(rgb):
    r, g, b = rgb
    xyz = (
        (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
        0.2126 * r + 0.7152 * g + 0.0722 * b,
        (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
    )
    f = [t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116 for t in xyz]
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
def test_tones_differ_for_every_eye(theme, eye):
    colours = themes()[theme]
    for one, other in itertools.combinations(TONES, 2):
        a, b = lab(seen(colours[one], eye)), lab(seen(colours[other], eye))
        difference = sum((x - y) ** 2 for x, y in zip(a, b, strict=True)) ** 0.5
        assert difference > 15, (one, other, difference)


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
def test_tones_and_words_read_on_their_ground(theme):
    colours = themes()[theme]
    for ground in ("paper", "soft"):
        assert contrast(linear(colours["none"]), linear(colours[ground])) >= 3, ground  # a line
        for ink in (*TONES, "counts", "ink", "quiet", "stale"):
            assert contrast(linear(colours[ink]), linear(colours[ground])) >= 4.5, (ink, ground)
    assert contrast(linear(colours["alarm"]), linear(colours["alarm-ink"])) >= 7
