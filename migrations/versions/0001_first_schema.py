"""First schema: the catalogue, recipe versions, tokens, forecasts, overrides and stock counts."""

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# Codes sort by their bytes on both databases.
CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
ITEM = sa.String(140).with_variant(sa.String(140, collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "ingredients",
        sa.Column("code", CODE, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_ingredients")),
    )
    op.create_table(
        "menu_items",
        sa.Column("code", CODE, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_menu_items")),
    )
    op.create_table(
        "recipes",
        sa.Column("code", CODE, nullable=False),
        sa.Column("draft", types.Document()),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_recipes")),
    )
    op.create_table(
        "revisions",
        sa.Column("scope", sa.String(length=80), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("scope", name=op.f("pk_revisions")),
    )
    op.create_table(
        "sites",
        sa.Column("code", CODE, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_sites")),
    )
    op.create_table(
        "stations",
        sa.Column("code", CODE, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_stations")),
    )
    op.create_table(
        "tokens",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("sites", types.Document()),
        sa.Column("source", CODE),
        sa.Column("created_at", types.Moment(), nullable=False),
        sa.Column("expires_at", types.Moment(), nullable=False),
        sa.Column("revoked_at", types.Moment()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tokens")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_tokens_token_hash")),
    )
    op.create_table(
        "counted_items",
        sa.Column("site", CODE, nullable=False),
        sa.Column("item", ITEM, nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_counted_items_site_sites")),
        sa.PrimaryKeyConstraint("site", "item", name=op.f("pk_counted_items")),
    )
    op.create_table(
        "forecasts",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("period", CODE, nullable=False),
        sa.Column("source", CODE, nullable=False),
        sa.Column("event", CODE, nullable=False),
        sa.Column("key_kind", sa.String(length=16), nullable=False),
        sa.Column("key", CODE, nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("serve_at", sa.String(length=5)),
        sa.Column("event_buffer", types.Exact()),
        sa.Column("as_of", types.Moment(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_forecasts_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", "period", "source", "event", "key_kind", "key", name=op.f("pk_forecasts")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "overrides",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("period", CODE, nullable=False),
        sa.Column("menu_item", CODE, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["menu_item"], ["menu_items.code"], name=op.f("fk_overrides_menu_item_menu_items")),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_overrides_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", "period", "menu_item", name=op.f("pk_overrides")),
    )
    op.create_table(
        "recipe_versions",
        sa.Column("recipe", CODE, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("sites", types.Document()),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.Column("warnings", types.Document(), nullable=False),
        sa.Column("published_at", types.Moment(), nullable=False),
        sa.Column("published_by", sa.String(length=64)),
        sa.ForeignKeyConstraint(["recipe"], ["recipes.code"], name=op.f("fk_recipe_versions_recipe_recipes")),
        sa.PrimaryKeyConstraint("recipe", "number", name=op.f("pk_recipe_versions")),
    )
    op.create_table(
        "recipe_withdrawals",
        sa.Column("recipe", CODE, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("recorded_at", types.Moment(), nullable=False),
        sa.ForeignKeyConstraint(["recipe"], ["recipes.code"], name=op.f("fk_recipe_withdrawals_recipe_recipes")),
        sa.PrimaryKeyConstraint("recipe", "number", name=op.f("pk_recipe_withdrawals")),
    )
    op.create_table(
        "stock_counts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site", CODE, nullable=False),
        sa.Column("counted_at", types.Moment(), nullable=False),
        sa.Column("recorded_at", types.Moment(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_stock_counts_site_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_counts")),
    )
    op.create_index(op.f("ix_stock_counts_site_counted_at"), "stock_counts", ["site", "counted_at"])
    op.create_table(
        "stock_lots",
        sa.Column("stock_count", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("site", CODE, nullable=False),
        sa.Column("item", ITEM, nullable=False),
        sa.Column("counted_at", types.Moment(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_stock_lots_site_sites")),
        sa.ForeignKeyConstraint(["stock_count"], ["stock_counts.id"], name=op.f("fk_stock_lots_stock_count_stock_counts")),
        sa.PrimaryKeyConstraint("stock_count", "position", name=op.f("pk_stock_lots")),
    )
    op.create_index(op.f("ix_stock_lots_site_item_counted_at_stock_count"), "stock_lots", ["site", "item", "counted_at", "stock_count"])


def downgrade() -> None:
    for table in (
        "stock_lots",
        "stock_counts",
        "counted_items",
        "overrides",
        "forecasts",
        "tokens",
        "recipe_withdrawals",
        "recipe_versions",
        "recipes",
        "revisions",
        "sites",
        "menu_items",
        "ingredients",
        "stations",
    ):
        op.drop_table(table)
