"""Sheets, boards, remnants, the saw and its rails, in inner units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Trim:
    """What is lost at each factory edge, kerf included, as seen on the face that lies up."""

    left: int = 0
    right: int = 0
    lower: int = 0
    upper: int = 0


@dataclass(frozen=True, slots=True)
class Material:
    """A sheet material of one thickness.

    Attributes
    ----------
    thickness : int
        Actual thickness.
    grain : bool
        False where parts may lie any way (MDF).
    both_faces : bool
        Parts may be turned over.
    weight : float or None
        Pounds a square foot, or kilograms a square metre, by the job's units.
    play : int or None
        Room to be kept on each of its sheets; None for the job's own.
    """

    name: str
    thickness: int
    grain: bool = True
    both_faces: bool = False
    weight: float | None = None
    play: int | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """A size that can be had; length runs along the grain.

    Attributes
    ----------
    price : int
        Of one, in hundredths of the job's money.
    count : int or None
        How many can be had; None for as many as needed.
    board : str
        Its nominal size, ``1x12``; empty for a sheet.
    blocked : tuple of (x0, y0, x1, y1)
        Zones that no part and no kept offcut may take, as seen on the face that lies up.
    play : int
        By how much each may be shorter and narrower than it is said to be.
    """

    name: str
    material: str
    length: int
    width: int
    price: int
    count: int | None
    trim: Trim
    in_shop: bool = False
    board: str = ""
    blocked: tuple[tuple[int, int, int, int], ...] = ()
    play: int = 0


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll of iron-on band.

    Attributes
    ----------
    width : int
        0 where it is not known.
    price : int or None
        Of one, in hundredths of the job's money.
    material : str
        The sheet material that it goes on; empty for any.
    """

    length: int
    width: int = 0
    price: int | None = None
    material: str = ""


@dataclass(frozen=True, slots=True)
class Saw:
    """The track saw.

    Attributes
    ----------
    rails : tuple of int
        Lengths in the van; empty for no limit.
    lead_in, lead_out : int
        Rail needed ahead of the cut and past it.
    face_up : str
        ``show`` or ``back``: which face lies up while cutting.
    """

    kerf: int
    rails: tuple[int, ...] = ()
    join: bool = False
    lead_in: int = 0
    lead_out: int = 0
    face_up: str = "show"

    def rails_for(self, cut: int) -> tuple[int, ...] | None:
        """Choose rails for a cut of this length.

        The shortest single rail that will do; else, where joining is allowed, the set with the
        fewest rails and, of these, the least total. Joining lays rails end to end, so lengths add
        (a saw maker's manual: 42 + 75 gives 117).

        Returns
        -------
        tuple of int or None
            Longest first; empty where no rails are given (no limit); None where none reach.
        """
        if not self.rails:
            return ()
        need = cut + self.lead_in + self.lead_out
        single = [rail for rail in self.rails if rail >= need]
        if single:
            return (min(single),)
        return self._joined(need) if self.join else None

    def _joined(self, need: int) -> tuple[int, ...] | None:
        best: dict[int, tuple[int, ...]] = {0: ()}
        for rail in sorted(self.rails, reverse=True):
            for total, used in list(best.items()):
                longer = total + rail
                if longer not in best or len(best[longer]) > len(used) + 1:
                    best[longer] = (*used, rail)
        reaching = [used for total, used in best.items() if total >= need]
        return min(reaching, key=lambda used: (len(used), sum(used)), default=None)

    def reach(self, joined: bool | None = None) -> int | None:
        """Longest cut that can be made; None for no limit.

        ``joined`` False asks for single rails only; left out, the job's own rule holds.
        """
        if not self.rails:
            return None
        longest = sum(self.rails) if (self.join if joined is None else joined) else max(self.rails)
        return longest - self.lead_in - self.lead_out
