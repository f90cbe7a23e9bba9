"""What a wearer's fittings taught, on one sheet to lie beside the next pattern."""

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from fitcheck.core.diary import Names, Profile, Usual, name_of
from fitcheck.report.page.diary_frame import render_page
from fitcheck.report.words.units import Units

_OFTEN = 0.5


def profile_page(profile: Profile, names: Names, posture_names: Mapping[str, str], units: Units) -> str:
    """The sheet.

    Parameters
    ----------
    names : dict of (alteration id, amount above zero) to str
        Plain name of each direction.
    posture_names : dict of posture id to str

    Raises
    ------
    KnowledgeError
        A sentence has a field that cannot be filled.
    """
    return render_page("profile.html.j2", units, **profile_content(profile, names, posture_names))


def profile_content(profile: Profile, names: Names, posture_names: Mapping[str, str]) -> dict[str, Any]:
    """What the sheet is filled with; parameters as `profile_page`."""
    widest = max([1.0, *(abs(mm) + 2 * sd for usual in profile.usual for _, mm, sd in usual.amounts)])
    rows = [(u, name_of(u, names), Markup(_chart(u, widest))) for u in profile.usual]
    often = [row for row in rows if row[0].needed >= 2 and row[0].needed >= _OFTEN * row[0].garments]
    rest = [row for row in rows if row not in often]
    return {"profile": profile, "often": often, "rest": rest, "posture_names": posture_names}


def _chart(usual: Usual, widest: float) -> str:
    """Every garment's amount as a dot, from nought to the right; the band is where the next one will lie."""
    low, high = (max(0.0, min(1.0, abs(v) / widest)) * 190 for v in sorted((usual.low_mm, usual.high_mm), key=abs))
    if usual.low_mm * usual.high_mm < 0:
        low = 0.0
    dots = "".join(f'<circle cx="{abs(mm) / widest * 190:.1f}" r="3.6" fill="#0072b2" fill-opacity=".8"/>' for _, mm, _ in usual.amounts)
    band = f'<rect x="{low:.1f}" y="-7" width="{max(high - low, 2):.1f}" height="14" rx="3" fill="#0072b2" fill-opacity=".16"/>'
    axes = '<path d="M0 0H196" stroke="#dcd3c6"/><path d="M0 -7V7" stroke="#8a7f73"/>'
    return f'<svg class="strip" viewBox="-6 -8 204 16" aria-hidden="true">{axes}{band}{dots}</svg>'
