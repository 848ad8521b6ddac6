"""Compare: what moved between two builds, or between two results of a rehearsal; pure."""

from diodewright.compare.builds import moved_between_builds
from diodewright.compare.documents import moved_between_documents
from diodewright.compare.move import Move, Row, moved

__all__ = ["Move", "Row", "moved", "moved_between_builds", "moved_between_documents"]
