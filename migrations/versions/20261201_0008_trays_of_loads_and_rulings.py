"""Trays in which the plants of a load stand, and the benches they came from; rulings on the purpose of a planting.

A line whose papers in force tell of just its plants keeps the trays that they showed: as many as full trays hold
them. Of other loads nobody wrote the trays down, and their lines stay without.

Revision: 0008, after 0007
"""

import math

import sqlalchemy as sa
from alembic import op

revision = '0008'
down_revision = '0007'
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('rulings',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=True),
    sa.Column('recipient_id', sa.Integer(), nullable=True),
    sa.Column('reason', sa.String(), nullable=False),
    sa.Column('ruled_on', sa.Date(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawal', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawal = '')", name=op.f('ck_rulings_withdrawn')),
    sa.CheckConstraint("reason <> ''", name=op.f('ck_rulings_reason')),
    sa.CheckConstraint('(site_id IS NULL) <> (recipient_id IS NULL)', name=op.f('ck_rulings_subject')),
    sa.ForeignKeyConstraint(['recipient_id'], ['recipients.id'], name=op.f('fk_rulings_recipient_id_recipients')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_rulings_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_rulings'))
    )
    with op.batch_alter_table('rulings', schema=None) as batch_op:
        batch_op.create_index('uq_rulings_standing_of_recipient', ['recipient_id'], unique=True, sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))
        batch_op.create_index('uq_rulings_standing_of_site', ['site_id'], unique=True, sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))

    op.create_table('fetched_plants',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('line_id', sa.Integer(), nullable=False),
    sa.Column('bench_id', sa.Integer(), nullable=True),
    sa.Column('plants', sa.Integer(), nullable=False),
    sa.Column('trays', sa.Integer(), nullable=True),
    sa.CheckConstraint('plants >= 1', name=op.f('ck_fetched_plants_plants')),
    sa.CheckConstraint('trays >= 0', name=op.f('ck_fetched_plants_trays')),
    sa.ForeignKeyConstraint(['bench_id'], ['benches.id'], name=op.f('fk_fetched_plants_bench_id_benches')),
    sa.ForeignKeyConstraint(['line_id'], ['dispatch_lines.id'], name=op.f('fk_fetched_plants_line_id_dispatch_lines')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_fetched_plants'))
    )
    with op.batch_alter_table('fetched_plants', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_fetched_plants_bench_id'), ['bench_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_fetched_plants_line_id'), ['line_id'], unique=False)

    with op.batch_alter_table('dispatch_lines', schema=None) as batch_op:
        batch_op.add_column(sa.Column('trays', sa.Integer(), nullable=True))
        batch_op.create_check_constraint(op.f('ck_dispatch_lines_trays'), 'trays >= 0')

    with op.batch_alter_table('returned_plants', schema=None) as batch_op:
        batch_op.add_column(sa.Column('trays', sa.Integer(), nullable=True))
        batch_op.create_check_constraint(op.f('ck_returned_plants_trays'), 'trays >= 0')

    keep_what_papers_showed()


def keep_what_papers_showed() -> None:
    """Until now papers counted trays as full ones: plants by cells of a tray, rounded up."""
    connection = op.get_bind()
    rows = connection.execute(sa.text(
        "SELECT l.id, l.dispatch_id, b.code, coalesce(l.sent, l.plants) AS plants, b.cells_per_tray AS cells"
        " FROM dispatch_lines l JOIN batches b ON b.id = l.batch_id"
        " WHERE b.cells_per_tray > 1 AND coalesce(l.sent, l.plants) > 0"
    )).all()
    shown: dict[tuple[int, str], dict[int, int]] = {}
    for row in rows:
        shown.setdefault((row.dispatch_id, row.code), {})[row.id] = math.ceil(row.plants / row.cells)
    plants: dict[tuple[int, str], int] = {}
    for row in rows:
        plants[row.dispatch_id, row.code] = plants.get((row.dispatch_id, row.code), 0) + row.plants
    papers = sa.table(
        'papers', sa.column('kind', sa.String), sa.column('dispatch_id', sa.Integer),
        sa.column('particulars', sa.JSON), sa.column('voided_at', sa.DateTime),
    )
    in_force = sa.select(papers).where(papers.c.dispatch_id.is_not(None), papers.c.voided_at.is_(None))
    kept: dict[int, int] = {}
    for paper in connection.execute(in_force):
        for code, told in (paper.particulars.get('told') or {}).items():
            place = (paper.dispatch_id, code)
            trays = shown.get(place, {})
            if trays and told == (sum(trays.values()) if paper.kind == 'passport' else plants[place]):
                kept |= trays
    for line_id, many in kept.items():
        connection.execute(sa.text("UPDATE dispatch_lines SET trays = :many WHERE id = :id"), {"many": many, "id": line_id})



def downgrade() -> None:
    with op.batch_alter_table('returned_plants', schema=None) as batch_op:
        batch_op.drop_constraint(op.f('ck_returned_plants_trays'), type_='check')
        batch_op.drop_column('trays')

    with op.batch_alter_table('dispatch_lines', schema=None) as batch_op:
        batch_op.drop_constraint(op.f('ck_dispatch_lines_trays'), type_='check')
        batch_op.drop_column('trays')

    with op.batch_alter_table('fetched_plants', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_fetched_plants_line_id'))
        batch_op.drop_index(batch_op.f('ix_fetched_plants_bench_id'))

    op.drop_table('fetched_plants')
    with op.batch_alter_table('rulings', schema=None) as batch_op:
        batch_op.drop_index('uq_rulings_standing_of_site', sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))
        batch_op.drop_index('uq_rulings_standing_of_recipient', sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))

    op.drop_table('rulings')
