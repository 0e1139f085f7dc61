"""Formulas as text, against what each LaTeX command means."""

from __future__ import annotations

import re

import pytest

from burstwise.app.help.formulas import as_text, with_formulas


@pytest.mark.parametrize(
    ("formula", "text"),
    [
        (r"\frac{a}{b}", "a/b"),
        (r"\frac VR(1-e^{-t})", "(V/R)(1 − e^-t)"),
        (r"\tfrac12 C", "½C"),
        (r"\frac{a+b}{c-d}", "(a + b)/(c − d)"),
        (r"\frac{C_{lo}-C_{hi}}{2}", "(C_lo − C_hi)/2"),
        (r"\sqrt{x}", "√x"),
        (r"\sqrt3", "√3"),
        (r"\sqrt{L_1L_2}", "√(L_1L_2)"),
        (r"\dot{i}_1", "i\u0307_1"),
        (r"\ddot v_{gs}", "v\u0308_gs"),
        (r"R_\mathrm{on}\le 0.35", "R_on ≤ 0.35"),
        (r"36.00\ \text{V per turn}", "36.00 V per turn"),
        (r"\begin{pmatrix}a&b\\c&d\end{pmatrix}", "(a, b; c, d)"),
        (r"-x", "-x"),
        (r"a=-x", "a = -x"),
        (r"3\cdot10^{-4}", "3·10^-4"),
    ],
)
def test_a_formula_reads_as_it_is_meant(formula: str, text: str) -> None:
    plain = re.sub(r"</?i>|</su[bp]>", "", as_text(formula))
    told = plain.replace("<sub>", "_").replace("<sup>", "^")
    assert told.replace("−", "-") == text.replace("−", "-")


def test_raised_and_lowered_letters_are_told_apart_from_upright_ones() -> None:
    assert as_text(r"I_\mathrm{rms}^2") == "<i>I</i><sub>rms</sub><sup>2</sup>"
    assert as_text("V_s") == "<i>V</i><sub><i>s</i></sub>"


@pytest.mark.parametrize("formula", [r"\unknown x", "{a", r"\frac{a}", "a_"])
def test_what_has_no_text_is_refused(formula: str) -> None:
    with pytest.raises(ValueError, match="formula"):
        as_text(formula)


def test_code_and_prices_stay() -> None:
    page = "`$x$` and ```\n$y$\n``` and 5 $ alone"
    assert with_formulas(page) == page
