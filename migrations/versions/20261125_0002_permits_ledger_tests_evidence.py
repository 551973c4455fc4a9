"""Permits, the seed ledger, tests, bags, evidence and attachments.

Each lot's amount becomes its opening movement; nothing else of the first version changes.

Revision: 0002, after 0001
"""

import sqlalchemy as sa
from alembic import op

revision = '0002'
down_revision = '0001'
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('attachments',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('subject', sa.String(length=40), nullable=False),
    sa.Column('subject_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('document', 'photo', 'voucher', name='attachment_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('title', sa.String(length=120), server_default='', nullable=False),
    sa.Column('file_name', sa.String(length=200), nullable=False),
    sa.Column('media_type', sa.String(length=60), nullable=False),
    sa.Column('size', sa.Integer(), nullable=False),
    sa.Column('digest', sa.String(length=64), nullable=False),
    sa.Column('content', sa.LargeBinary(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('size >= 1', name=op.f('ck_attachments_size')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_attachments'))
    )
    with op.batch_alter_table('attachments', schema=None) as batch_op:
        batch_op.create_index('ix_attachments_subject_subject_id', ['subject', 'subject_id'], unique=False)

    op.create_table('permits',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('number', sa.String(length=60), nullable=False),
    sa.Column('authority', sa.String(length=120), nullable=False),
    sa.Column('holder', sa.String(length=120), server_default='', nullable=False),
    sa.Column('valid_from', sa.Date(), nullable=False),
    sa.Column('valid_to', sa.Date(), nullable=False),
    sa.Column('notice_days', sa.Integer(), server_default='0', nullable=False),
    sa.Column('report_days', sa.Integer(), nullable=True),
    sa.Column('conditions', sa.String(), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('notice_days >= 0', name=op.f('ck_permits_notice_days')),
    sa.CheckConstraint('report_days >= 0', name=op.f('ck_permits_report_days')),
    sa.CheckConstraint('valid_from <= valid_to', name=op.f('ck_permits_valid')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_permits')),
    sa.UniqueConstraint('authority', 'number', name=op.f('uq_permits_authority_number'))
    )
    with op.batch_alter_table('permits', schema=None) as batch_op:
        batch_op.create_index('ix_permits_valid_to_id', ['valid_to', 'id'], unique=False)

    op.create_table('permit_lines',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('permit_id', sa.Integer(), nullable=False),
    sa.Column('species_id', sa.Integer(), nullable=False),
    sa.Column('cap_mg', sa.BigInteger(), nullable=True),
    sa.Column('cap_pieces', sa.Integer(), nullable=True),
    sa.Column('area_kind', sa.Enum('anywhere', 'places', 'polygon', name='area_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('places', sa.String(), server_default='', nullable=False),
    sa.Column('polygon', sa.JSON(none_as_null=True), nullable=True),
    sa.CheckConstraint("area_kind <> 'places' OR places <> ''", name=op.f('ck_permit_lines_places')),
    sa.CheckConstraint("area_kind <> 'polygon' OR polygon IS NOT NULL", name=op.f('ck_permit_lines_polygon')),
    sa.CheckConstraint('cap_mg >= 1', name=op.f('ck_permit_lines_cap_mg')),
    sa.CheckConstraint('cap_pieces >= 1', name=op.f('ck_permit_lines_cap_pieces')),
    sa.ForeignKeyConstraint(['permit_id'], ['permits.id'], name=op.f('fk_permit_lines_permit_id_permits')),
    sa.ForeignKeyConstraint(['species_id'], ['species.id'], name=op.f('fk_permit_lines_species_id_species')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_permit_lines'))
    )
    with op.batch_alter_table('permit_lines', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_permit_lines_permit_id'), ['permit_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_permit_lines_species_id'), ['species_id'], unique=False)

    op.create_table('bags',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=False),
    sa.Column('tag', sa.String(length=40), nullable=False),
    sa.Column('weight_mg', sa.Integer(), nullable=False),
    sa.Column('latitude', sa.Double(), nullable=True),
    sa.Column('longitude', sa.Double(), nullable=True),
    sa.Column('sex', sa.Enum('female', 'male', name='sex', native_enum=False, create_constraint=True, length=20), nullable=True),
    sa.CheckConstraint('(latitude IS NULL) = (longitude IS NULL)', name=op.f('ck_bags_position')),
    sa.CheckConstraint('latitude BETWEEN -90 AND 90', name=op.f('ck_bags_latitude')),
    sa.CheckConstraint('longitude BETWEEN -180 AND 180', name=op.f('ck_bags_longitude')),
    sa.CheckConstraint('weight_mg > 0', name=op.f('ck_bags_weight_mg')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_bags_lot_id_lots')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_bags')),
    sa.UniqueConstraint('lot_id', 'tag', name=op.f('uq_bags_lot_id_tag'))
    )
    with op.batch_alter_table('bags', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_bags_lot_id'), ['lot_id'], unique=False)

    op.create_table('evidence',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('species_id', sa.Integer(), nullable=False),
    sa.Column('part', sa.String(length=10), server_default='seed', nullable=False),
    sa.Column('rate', sa.String(length=30), nullable=False),
    sa.Column('successes', sa.Double(), nullable=False),
    sa.Column('trials', sa.Double(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=True),
    sa.Column('happened_on', sa.Date(), nullable=False),
    sa.Column('source', sa.String(length=120), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_evidence_withdrawn')),
    sa.CheckConstraint('successes <= trials', name=op.f('ck_evidence_successes_of_trials')),
    sa.CheckConstraint('successes >= 0', name=op.f('ck_evidence_successes')),
    sa.CheckConstraint('trials > 0', name=op.f('ck_evidence_trials')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_evidence_lot_id_lots')),
    sa.ForeignKeyConstraint(['species_id'], ['species.id'], name=op.f('fk_evidence_species_id_species')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_evidence'))
    )
    with op.batch_alter_table('evidence', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_evidence_lot_id'), ['lot_id'], unique=False)
        batch_op.create_index('ix_evidence_species_id_rate', ['species_id', 'rate'], unique=False)

    op.create_table('movements',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('opening', 'collected', 'extracted', 'cleaned', 'sampled', 'withdrawn', 'split', 'mixed', 'given', 'discarded', 'recounted', 'reversal', name='movement_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('measure', sa.Enum('fruit', 'seed', 'pieces', name='measure', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('change', sa.BigInteger(), nullable=False),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('happened_on', sa.Date(), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('act', sa.String(length=32), nullable=False),
    sa.Column('other_lot_id', sa.Integer(), nullable=True),
    sa.Column('reverses_id', sa.Integer(), nullable=True),
    sa.CheckConstraint("(kind = 'reversal') = (reverses_id IS NOT NULL)", name=op.f('ck_movements_reverses')),
    sa.CheckConstraint('change <> 0', name=op.f('ck_movements_change')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_movements_lot_id_lots')),
    sa.ForeignKeyConstraint(['other_lot_id'], ['lots.id'], name=op.f('fk_movements_other_lot_id_lots')),
    sa.ForeignKeyConstraint(['reverses_id'], ['movements.id'], name=op.f('fk_movements_reverses_id_movements')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_movements')),
    sa.UniqueConstraint('reverses_id', name=op.f('uq_movements_reverses_id'))
    )
    with op.batch_alter_table('movements', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_movements_act'), ['act'], unique=False)
        batch_op.create_index('ix_movements_lot_id_id', ['lot_id', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_movements_other_lot_id'), ['other_lot_id'], unique=False)

    op.create_table('seed_tests',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('germination', 'cut', 'tetrazolium', 'purity', 'weight', 'moisture', name='test_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('tested_on', sa.Date(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('readings', sa.JSON(), nullable=False),
    sa.Column('result', sa.Double(), nullable=False),
    sa.Column('low', sa.Double(), nullable=True),
    sa.Column('high', sa.Double(), nullable=True),
    sa.Column('is_accepted', sa.Boolean(), nullable=False),
    sa.Column('verdict', sa.JSON(), nullable=False),
    sa.Column('days', sa.Integer(), nullable=True),
    sa.Column('regime', sa.String(length=80), server_default='', nullable=False),
    sa.Column('pretreatment', sa.String(length=120), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_seed_tests_withdrawn')),
    sa.CheckConstraint('days >= 1', name=op.f('ck_seed_tests_days')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_seed_tests_lot_id_lots')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_seed_tests'))
    )
    with op.batch_alter_table('seed_tests', schema=None) as batch_op:
        batch_op.create_index('ix_seed_tests_lot_id_tested_on', ['lot_id', 'tested_on'], unique=False)

    with op.batch_alter_table('lots', schema=None) as batch_op:
        batch_op.add_column(sa.Column('fruit_mg', sa.BigInteger(), server_default='0', nullable=False))
        batch_op.add_column(sa.Column('permit_id', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('is_held', sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.add_column(sa.Column('released_at', sa.DateTime(), nullable=True))
        batch_op.add_column(sa.Column('released_by', sa.String(length=80), server_default='', nullable=False))
        batch_op.add_column(sa.Column('release_reason', sa.String(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('reported_on', sa.Date(), nullable=True))
        batch_op.add_column(sa.Column('plants_present', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('crop_share', sa.Double(), nullable=True))
        batch_op.add_column(sa.Column('cut_sound', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('cut_total', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('ripeness', sa.Enum('unripe', 'ripe', 'shedding', name='ripeness', native_enum=False, create_constraint=True, length=20), nullable=True))
        batch_op.add_column(sa.Column('habitat', sa.String(), server_default='', nullable=False))
        batch_op.create_index(batch_op.f('ix_lots_permit_id'), ['permit_id'], unique=False)
        batch_op.create_foreign_key(batch_op.f('fk_lots_permit_id_permits'), 'permits', ['permit_id'], ['id'])
        # A rebuilt table would otherwise spell these defaults differently from a new one.
        for name in ("notes", "permit_number"):
            batch_op.alter_column(name, server_default="")
        batch_op.create_check_constraint(op.f('ck_lots_fruit_mg'), 'fruit_mg >= 0')
        batch_op.create_check_constraint(op.f('ck_lots_plants_present'), 'plants_present >= 1')
        batch_op.create_check_constraint(op.f('ck_lots_crop_share'), 'crop_share > 0 AND crop_share <= 1')
        batch_op.create_check_constraint(op.f('ck_lots_cut_sound'), 'cut_sound >= 0 AND cut_sound <= cut_total')
        batch_op.create_check_constraint(op.f('ck_lots_cut_total'), 'cut_total >= 1')
        batch_op.create_check_constraint(op.f('ck_lots_held'), 'is_held = false OR released_at IS NULL')

    with op.batch_alter_table('storage_places', schema=None) as batch_op:
        batch_op.add_column(sa.Column('humidity_pct', sa.Double(), nullable=True))
        batch_op.alter_column("notes", server_default="")
        batch_op.create_check_constraint(op.f('ck_storage_places_humidity_pct'), 'humidity_pct >= 0 AND humidity_pct <= 100')

    open_the_ledger()
    guard_the_ledger()


def open_the_ledger() -> None:
    """What each lot held becomes its first movement."""
    op.execute(
        "INSERT INTO movements (lot_id, kind, measure, change, reason, person, happened_on, at, act) "
        "SELECT id, 'opening', CASE WHEN amount_mg IS NULL THEN 'pieces' ELSE 'seed' END, "
        "COALESCE(amount_mg, pieces), '', 'upgrade', collected_on, created_at, 'opening-' || id "
        "FROM lots WHERE COALESCE(amount_mg, pieces) > 0"
    )


def guard_the_ledger() -> None:
    """Let the database itself refuse to change or delete a movement."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER movements_no_{verb.lower()} BEFORE {verb} ON movements "
                "BEGIN SELECT RAISE(ABORT, 'the ledger is only added to'); END"
            )
    elif op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION movements_only_added() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'the ledger is only added to'; END $$"
        )
        op.execute(
            "CREATE TRIGGER movements_only_added BEFORE UPDATE OR DELETE ON movements "
            "FOR EACH ROW EXECUTE FUNCTION movements_only_added()"
        )


def downgrade() -> None:

    with op.batch_alter_table('storage_places', schema=None) as batch_op:
        batch_op.alter_column("notes", server_default="")
        batch_op.drop_constraint(op.f("ck_storage_places_humidity_pct"), type_="check")
        batch_op.drop_column('humidity_pct')

    with op.batch_alter_table('lots', schema=None) as batch_op:
        for name in ("notes", "permit_number"):
            batch_op.alter_column(name, server_default="")
        for name in ("fruit_mg", "plants_present", "crop_share", "cut_sound", "cut_total", "held", "ripeness"):
            batch_op.drop_constraint(op.f(f"ck_lots_{name}"), type_="check")
        batch_op.drop_constraint(batch_op.f('fk_lots_permit_id_permits'), type_='foreignkey')
        batch_op.drop_index(batch_op.f('ix_lots_permit_id'))
        batch_op.drop_column('habitat')
        batch_op.drop_column('ripeness')
        batch_op.drop_column('cut_total')
        batch_op.drop_column('cut_sound')
        batch_op.drop_column('crop_share')
        batch_op.drop_column('plants_present')
        batch_op.drop_column('reported_on')
        batch_op.drop_column('release_reason')
        batch_op.drop_column('released_by')
        batch_op.drop_column('released_at')
        batch_op.drop_column('is_held')
        batch_op.drop_column('permit_id')
        batch_op.drop_column('fruit_mg')

    with op.batch_alter_table('seed_tests', schema=None) as batch_op:
        batch_op.drop_index('ix_seed_tests_lot_id_tested_on')

    op.drop_table('seed_tests')
    with op.batch_alter_table('movements', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_movements_other_lot_id'))
        batch_op.drop_index('ix_movements_lot_id_id')
        batch_op.drop_index(batch_op.f('ix_movements_act'))

    op.drop_table('movements')
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION movements_only_added()")
    with op.batch_alter_table('evidence', schema=None) as batch_op:
        batch_op.drop_index('ix_evidence_species_id_rate')
        batch_op.drop_index(batch_op.f('ix_evidence_lot_id'))

    op.drop_table('evidence')
    with op.batch_alter_table('bags', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_bags_lot_id'))

    op.drop_table('bags')
    with op.batch_alter_table('permit_lines', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_permit_lines_species_id'))
        batch_op.drop_index(batch_op.f('ix_permit_lines_permit_id'))

    op.drop_table('permit_lines')
    with op.batch_alter_table('permits', schema=None) as batch_op:
        batch_op.drop_index('ix_permits_valid_to_id')

    op.drop_table('permits')
    with op.batch_alter_table('attachments', schema=None) as batch_op:
        batch_op.drop_index('ix_attachments_subject_subject_id')

    op.drop_table('attachments')
