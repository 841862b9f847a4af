"""Answers kept under an Idempotency-Key."""

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "idempotency_keys",
        sa.Column("token", sa.String(length=32), nullable=False),
        sa.Column("route_hash", sa.String(length=64), nullable=False),
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("request_hash", sa.String(length=64), nullable=False),
        sa.Column("answered_at", types.Moment(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("headers", types.Document(), nullable=False),
        sa.Column("content", sa.Text()),
        sa.PrimaryKeyConstraint("token", "route_hash", "key_hash", name=op.f("pk_idempotency_keys")),
    )
    op.create_index(op.f("ix_idempotency_keys_answered_at"), "idempotency_keys", ["answered_at"])


def downgrade() -> None:
    op.drop_table("idempotency_keys")
