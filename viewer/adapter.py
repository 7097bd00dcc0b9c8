"""The remote area's end on the server, with the size that the picture has on the page."""

from __future__ import annotations

from typing import Any

from trame_rca.view_adapter import RcaViewAdapter


class PageAdapter(RcaViewAdapter):  # type: ignore[misc]
    """Passes pixels and mouse between browser and stage; mouse positions stay in the page's own pixels."""

    def __init__(self, picture: Any, name: str, scheduler: Any) -> None:
        self.page_size: tuple[float, float] | None = None
        self.picture = picture
        super().__init__(picture, name, scheduler=scheduler)

    def update_size(self, origin: str, size: dict[str, Any]) -> None:
        """Take the size of the picture on the page [CSS pixel] and its pixel ratio."""
        self.page_size = (max(10.0, float(size.get("w", 300))), max(10.0, float(size.get("h", 300))))
        super().update_size(origin, size)

    def on_interaction(self, origin: str, event: dict[str, Any]) -> None:
        """Pass a mouse event on; what it changes is drawn by whoever takes it."""
        self.picture.process_interaction_event(event)
