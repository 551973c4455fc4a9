"""Certificates, received seed, and since when a lot has been in its storage place.

The day of each lot's last move is read from its history, that of its moisture from the test that rules it; the
seed of earlier versions was all collected by the nursery.

Revision: 0003, after 0002
"""

import datetime as dt
import json

import sqlalchemy as sa
from alembic import op

revision = '0003'
down_revision = '0002'
branch_labels = None
depends_on = None

def upgrade() -> None:
    with op.batch_alter_table('lots', schema=None) as batch_op:
        batch_op.add_column(sa.Column('moisture_on', sa.Date(), nullable=True))
        batch_op.add_column(sa.Column('stored_on', sa.Date(), nullable=True))
        batch_op.add_column(sa.Column('harmed_on', sa.Date(), nullable=True))
        batch_op.add_column(sa.Column('is_received', sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.add_column(
            sa.Column('supplier_document', sa.String(length=120), server_default='', nullable=False)
        )
        batch_op.add_column(
            sa.Column('certificate_number', sa.String(length=60), server_default='', nullable=False)
        )
    _read_moves()
    _read_moisture()


def downgrade() -> None:
    with op.batch_alter_table('lots', schema=None) as batch_op:
        batch_op.drop_column('certificate_number')
        batch_op.drop_column('supplier_document')
        batch_op.drop_column('is_received')
        batch_op.drop_column('harmed_on')
        batch_op.drop_column('stored_on')
        batch_op.drop_column('moisture_on')


def _read_moves() -> None:
    """The last change of the storage place in each lot's history; a lot that never moved keeps none."""
    connection = op.get_bind()
    changes = sa.table(
        'changes', sa.column('subject', sa.String), sa.column('subject_id', sa.Integer),
        sa.column('action', sa.String), sa.column('details', sa.JSON), sa.column('at', sa.DateTime),
        sa.column('id', sa.Integer),
    )
    rows = connection.execute(
        sa.select(changes.c.subject_id, changes.c.details, changes.c.at)
        .where(changes.c.subject == 'lots', changes.c.action.in_(('changed', 'imported')))
        .order_by(changes.c.id)
    )
    moved = {}
    for lot_id, details, at in rows:
        told = json.loads(details) if isinstance(details, str) else details
        before, after = (told or {}).get('storage_place_id', (None, None))
        # A lot that a file brought has no place before: it was put where it is when it was collected.
        if before is not None and after is not None:
            moved[lot_id] = at.date()
    _write('stored_on', moved)


def _read_moisture() -> None:
    """The newest accepted oven test, where the lot still has its figure."""
    connection = op.get_bind()
    tests = sa.table(
        'seed_tests', sa.column('lot_id', sa.Integer), sa.column('kind', sa.String),
        sa.column('tested_on', sa.Date), sa.column('result', sa.Float), sa.column('is_accepted', sa.Boolean),
        sa.column('withdrawn_at', sa.DateTime), sa.column('id', sa.Integer),
    )
    lots = sa.table('lots', sa.column('id', sa.Integer), sa.column('moisture_pct', sa.Float))
    rows = connection.execute(
        sa.select(tests.c.lot_id, tests.c.tested_on)
        .join(lots, lots.c.id == tests.c.lot_id)
        .where(
            tests.c.kind == 'moisture', tests.c.is_accepted, tests.c.withdrawn_at.is_(None),
            tests.c.result == lots.c.moisture_pct,
        )
        .order_by(tests.c.tested_on, tests.c.id)
    )
    _write('moisture_on', {lot_id: tested_on for lot_id, tested_on in rows})


def _write(column: str, days: dict[int, dt.date]) -> None:
    lots = sa.table('lots', sa.column('id', sa.Integer), sa.column(column, sa.Date))
    if days:
        op.get_bind().execute(
            sa.update(lots).where(lots.c.id == sa.bindparam('lot')).values({column: sa.bindparam('day')}),
            [{'lot': lot_id, 'day': day} for lot_id, day in days.items()],
        )
