"""The statement of one build's hazard: emission as simulated, judged, with one verdict."""

from dataclasses import dataclass

from diodewright.build import Build
from diodewright.rehearse.emission import Emission, emission
from diodewright.rehearse.hazards import Hazard, judged_hazard
from diodewright.sim import Engine, law_hash

__all__ = ["HAZARD_LEAVES_OUT", "NO_CERTIFICATE", "Statement", "state_hazard"]

NO_CERTIFICATE = (
    "no certificate: an estimate to design by. Local rules and a qualified safety officer decide; "
    "the paid standards were not read in full, and each row says how well its rule is known"
)
#: What the statement leaves out, for a laser, an LED and both.
HAZARD_LEAVES_OUT: dict[str, tuple[str, ...]] = {
    "laser": (
        "the whole power counts as accessible and a transient as lasting: a measured class may be "
        "lower, never take it for lower",
        "Gaussian beams in clear air; hot spots, lenses' errors and edges are left out; within a "
        "beam's width over its divergence the true distance may be that much longer",
        "a wide source is a point in all distances and for eyewear: from afar it looks like one",
        "classes 1M, 2M and 1C, pulses, several beams at once, fire and fume",
    ),
    "led": (
        "blue light alone: ultraviolet, infrared, flicker and glare are not judged, retinal heat "
        "is screened",
        "a lens wider than 11 mm for each metre of the distance makes it longer",
    ),
    "none": (),
}


@dataclass(frozen=True)
class Statement:
    """What `hazard` says of a build.

    Attributes
    ----------
    verdict : "HOLDS" where everything that the hazard asks for and the build can state is there,
        "FAILS" where something lacks, "INCOMPLETE" where something was not judged.
    reasons : what made it so, each with its mend.
    hazard, emission : the figures.
    seed, law_hash, engine : how the faults were run.
    """

    verdict: str
    reasons: list[str]
    hazard: Hazard
    emission: Emission
    seed: int
    law_hash: str
    engine: str

    @property
    def kind(self) -> str:
        """Return "laser", "led" or "none" (a dummy load)."""
        return self.hazard.kind


def state_hazard(build: Build, engine: Engine, seed: int = 1) -> Statement:
    """Run what can raise the light of `build`, judge its hazard, and return the statement.

    Raises
    ------
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    found = emission(build, engine, seed)
    hazard = judged_hazard(build, found.worst, found.brightest)
    missing = list(hazard.unjudged)
    if found.missing and hazard.of is not None:
        missing.append(f"worst fault not simulated: {found.missing}")
    if engine.law_hash != law_hash():
        missing.append("the law on disk changed while this ran: nothing above counts")
    verdict = "FAILS" if hazard.breaches else "INCOMPLETE" if missing else "HOLDS"
    return Statement(
        verdict=verdict,
        reasons=hazard.breaches + missing,
        hazard=hazard,
        emission=found,
        seed=seed,
        law_hash=engine.law_hash,
        engine=engine.name,
    )
