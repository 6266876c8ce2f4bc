"""What the stores know: what is on hand by stock number, and which number a part or consumable has."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, Float, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from api.store.tables import Table


class StockItem(Table):
    """Something that the stores keep."""

    __tablename__ = "stock_items"

    number: Mapped[str] = mapped_column(String(64), primary_key=True)
    """As the shop writes it."""
    words: Mapped[str | None]
    """What it is called there."""
    on_hand: Mapped[float | None] = mapped_column(Float)
    """Pieces, as somebody counted them; None where nobody has."""
    counted_at: Mapped[datetime | None]
    counted_by: Mapped[int | None] = mapped_column(ForeignKey("accounts.id"))


class StockNumber(Table):
    """Under which number a sheet's part or consumable is kept; it goes before what the sheet itself says."""

    __tablename__ = "stock_numbers"
    __table_args__ = (
        UniqueConstraint("sheet_id", "kind", "name"),
        CheckConstraint("kind in ('part', 'consumable')", name="kind"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[str] = mapped_column(String(128))
    kind: Mapped[str] = mapped_column(String(16))
    """part or consumable."""
    name: Mapped[str] = mapped_column(String(128))
    """As the sheet names it; a part that is on no sheet, as records do."""
    number: Mapped[str] = mapped_column(ForeignKey("stock_items.number"), index=True)
    entered_at: Mapped[datetime]
    entered_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
