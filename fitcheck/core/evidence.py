"""What the joint adjustment goes by: everything known of a fitting that bears on where body and garment lie."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fitcheck.core.camera import Scale
from fitcheck.core.outline import Outline
from fitcheck.core.records import Side, Sighting, View
from fitcheck.core.solution import Tie


@dataclass(frozen=True, slots=True)
class Evidence:
    """Evidence for the solver.

    Attributes
    ----------
    scales : mapping of view to Scale
        Views without one are left out.
    sightings : sequence of Sighting
        Of body points (`landmarks.toml`) and of garment points named in `ties`.
    ties : sequence of Tie
    outlines : mapping of view to Outline
    sticker_share : float or None
        The printed stickers' size over their drawing, where it may tell how near she stands (`body.sticker_size`).
    coarse_px : mapping of view to float
        Further standard uncertainty, per axis, of whatever was seen in a photo.
    half : Side or None
        The side that a half tissue is on: on the other her outline is not the garment's.
    paper_edges : sequence of Sighting
        Where outlines show stickers edge-on (`body.paper_edges`).
    """

    scales: Mapping[View, Scale]
    sightings: Sequence[Sighting]
    ties: Sequence[Tie] = ()
    outlines: Mapping[View, Outline] = field(default_factory=dict)
    sticker_share: float | None = None
    coarse_px: Mapping[View, float] = field(default_factory=dict)
    half: Side | None = None
    paper_edges: Sequence[Sighting] = ()

    def without(self, view: View) -> "Evidence":
        """A copy that does not go by one photo."""
        return replace(
            self,
            scales={v: scale for v, scale in self.scales.items() if v != view},
            sightings=[s for s in self.sightings if s.view != view],
            paper_edges=[s for s in self.paper_edges if s.view != view],
            outlines={v: outline for v, outline in self.outlines.items() if v != view},
        )

    def with_points(self, sightings: Sequence[Sighting], ties: Sequence[Tie]) -> "Evidence":
        """A copy that goes by these points and their ties besides."""
        return replace(self, sightings=(*self.sightings, *sightings), ties=(*self.ties, *ties))

    def with_paper_edges(self, seen: Sequence[Sighting]) -> "Evidence":
        """A copy that goes by stickers seen edge-on besides."""
        return replace(self, paper_edges=seen)

    def sized_by_stickers(self, share: float | None) -> "Evidence":
        """A copy that heeds the size of the stickers, printed so many times larger; None: not."""
        return replace(self, sticker_share=share)

    def doubting_the_card(self, share: float) -> "Evidence":
        """A copy with so much more doubt of every scale, as a share; the stickers' size, printed with the card, is not heeded."""
        doubted = {view: replace(scale, scale_sd=float(np.hypot(scale.scale_sd, share))) for view, scale in self.scales.items()}
        return replace(self, scales=doubted, sticker_share=None)
