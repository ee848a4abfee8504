"""Opercle: what the fish in your hand really is, and why, down to a cited fact."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge as Knowledge

__all__ = ["Knowledge"]


def __getattr__(name: str) -> Any:
    """Import the door only when somebody knocks."""
    if name == "Knowledge":
        from opercle.knowledge import Knowledge

        return Knowledge
    raise AttributeError(f"module 'opercle' has no attribute {name!r}")
