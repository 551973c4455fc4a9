"""Batches with the ledger of their plants, tasks and people, room, supplies and money, plant health.

Plan lines learn what already grows for them, plantings their batch, targets who pays, preferences wages and overhead.
Needs are told by source, several to a line where its site mixes sources; forbidding and overriding stand once.

Revision: 0005, after 0004
"""

import sqlalchemy as sa
from alembic import op

revision = '0005'
down_revision = '0004'
branch_labels = None
depends_on = None

LEDGERS = ("plant_movements", "supply_movements")


def upgrade() -> None:
    op.create_table('people',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=80), nullable=False),
    sa.Column('is_volunteer', sa.Boolean(), server_default=sa.false(), nullable=False),
    sa.Column('hours_per_week', sa.Double(), nullable=False),
    sa.Column('wage_per_hour', sa.Double(), nullable=True),
    sa.Column('from_on', sa.Date(), nullable=True),
    sa.Column('until_on', sa.Date(), nullable=True),
    sa.Column('feed_token', sa.String(length=64), nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('hours_per_week >= 0', name=op.f('ck_people_hours_per_week')),
    sa.CheckConstraint('wage_per_hour >= 0', name=op.f('ck_people_wage_per_hour')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_people')),
    sa.UniqueConstraint('feed_token', name=op.f('uq_people_feed_token')),
    sa.UniqueConstraint('name', name=op.f('uq_people_name'))
    )
    op.create_table('stage_rooms',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('stage', sa.Enum('sown', 'emerged', 'growing', 'hardening', 'ready', name='room_stage', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('spacing', sa.Double(), nullable=False),
    sa.Column('water_l_per_m2_day', sa.Double(), nullable=True),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.CheckConstraint('spacing >= 1', name=op.f('ck_stage_rooms_spacing')),
    sa.CheckConstraint('water_l_per_m2_day >= 0', name=op.f('ck_stage_rooms_water_l_per_m2_day')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_stage_rooms')),
    sa.UniqueConstraint('stage', name=op.f('uq_stage_rooms_stage'))
    )
    op.create_table('standard_times',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('job', sa.Enum('notice', 'collect', 'retest', 'withdraw', 'soak', 'scarify', 'stratify', 'check', 'sow', 'prick-out', 'thin', 'move', 'feed', 'water', 'weed', 'count', 'harden', 'grade', 'dispatch', 'survey', name='standard_time_job', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('hours_per_1000', sa.Double(), nullable=False),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.CheckConstraint('hours_per_1000 >= 0', name=op.f('ck_standard_times_hours_per_1000')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_standard_times')),
    sa.UniqueConstraint('job', name=op.f('uq_standard_times_job'))
    )
    op.create_table('benches',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('nursery_id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=80), nullable=False),
    sa.Column('area_m2', sa.Double(), nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('area_m2 > 0', name=op.f('ck_benches_area_m2')),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_benches_nursery_id_nurseries')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_benches'))
    )
    with op.batch_alter_table('benches', schema=None) as batch_op:
        batch_op.create_index('uq_benches_name', ['nursery_id', 'name'], unique=True)

    op.create_table('hygiene_checks',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('nursery_id', sa.Integer(), nullable=False),
    sa.Column('checked_on', sa.Date(), nullable=False),
    sa.Column('answers', sa.JSON(), nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_hygiene_checks_nursery_id_nurseries')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_hygiene_checks'))
    )
    with op.batch_alter_table('hygiene_checks', schema=None) as batch_op:
        batch_op.create_index('ix_hygiene_checks_nursery_id_checked_on', ['nursery_id', 'checked_on'], unique=False)

    op.create_table('supplies',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=120), nullable=False),
    sa.Column('kind', sa.Enum('container', 'substrate', 'label', 'feed', 'other', name='supply_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('unit', sa.Enum('pieces', 'litres', 'kilograms', name='supply_unit', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('container_id', sa.Integer(), nullable=True),
    sa.Column('pack', sa.Double(), nullable=False),
    sa.Column('price_per_pack', sa.Double(), nullable=True),
    sa.Column('supplier', sa.String(length=120), server_default='', nullable=False),
    sa.Column('lead_days', sa.Integer(), nullable=False),
    sa.Column('safety_stock', sa.Double(), nullable=False),
    sa.Column('use_per_1000_plants', sa.Double(), nullable=True),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint("kind <> 'container' OR container_id IS NOT NULL", name=op.f('ck_supplies_container')),
    sa.CheckConstraint('lead_days >= 0', name=op.f('ck_supplies_lead_days')),
    sa.CheckConstraint('pack > 0', name=op.f('ck_supplies_pack')),
    sa.CheckConstraint('price_per_pack >= 0', name=op.f('ck_supplies_price_per_pack')),
    sa.CheckConstraint('safety_stock >= 0', name=op.f('ck_supplies_safety_stock')),
    sa.CheckConstraint('use_per_1000_plants >= 0', name=op.f('ck_supplies_use_per_1000_plants')),
    sa.ForeignKeyConstraint(['container_id'], ['containers.id'], name=op.f('fk_supplies_container_id_containers')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_supplies')),
    sa.UniqueConstraint('name', name=op.f('uq_supplies_name'))
    )
    with op.batch_alter_table('supplies', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_supplies_container_id'), ['container_id'], unique=False)

    op.create_table('batches',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('code', sa.String(length=24), nullable=False),
    sa.Column('species_id', sa.Integer(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=True),
    sa.Column('target_id', sa.Integer(), nullable=True),
    sa.Column('line_id', sa.Integer(), nullable=True),
    sa.Column('nursery_id', sa.Integer(), nullable=True),
    sa.Column('container_id', sa.Integer(), nullable=True),
    sa.Column('method', sa.Enum('direct', 'presprouted', 'pricked-out', 'cuttings', 'bareroot', name='batch_method', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('protocol', sa.String(length=60), server_default='', nullable=False),
    sa.Column('sown_on', sa.Date(), nullable=False),
    sa.Column('ready_on', sa.Date(), nullable=True),
    sa.Column('seeds', sa.BigInteger(), nullable=False),
    sa.Column('seeds_per_cell', sa.Integer(), nullable=True),
    sa.Column('viability', sa.Double(), nullable=True),
    sa.Column('trays', sa.Integer(), nullable=False),
    sa.Column('cells_per_tray', sa.Integer(), nullable=True),
    sa.Column('stage', sa.Enum('sown', 'emerged', 'growing', 'hardening', 'ready', name='stage', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('stage_on', sa.Date(), nullable=False),
    sa.Column('alive', sa.Integer(), server_default='0', nullable=False),
    sa.Column('seed_act', sa.String(length=32), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('alive >= 0', name=op.f('ck_batches_alive')),
    sa.CheckConstraint('cells_per_tray >= 1', name=op.f('ck_batches_cells_per_tray')),
    sa.CheckConstraint('seeds >= 0', name=op.f('ck_batches_seeds')),
    sa.CheckConstraint('seeds_per_cell > 0', name=op.f('ck_batches_seeds_per_cell')),
    sa.CheckConstraint('trays >= 0', name=op.f('ck_batches_trays')),
    sa.CheckConstraint('viability >= 0 AND viability <= 1', name=op.f('ck_batches_viability')),
    sa.ForeignKeyConstraint(['container_id'], ['containers.id'], name=op.f('fk_batches_container_id_containers')),
    sa.ForeignKeyConstraint(['line_id'], ['plan_lines.id'], name=op.f('fk_batches_line_id_plan_lines')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_batches_lot_id_lots')),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_batches_nursery_id_nurseries')),
    sa.ForeignKeyConstraint(['species_id'], ['species.id'], name=op.f('fk_batches_species_id_species')),
    sa.ForeignKeyConstraint(['target_id'], ['targets.id'], name=op.f('fk_batches_target_id_targets')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_batches')),
    sa.UniqueConstraint('code', name=op.f('uq_batches_code'))
    )
    with op.batch_alter_table('batches', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_batches_container_id'), ['container_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_batches_line_id'), ['line_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_batches_lot_id'), ['lot_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_batches_nursery_id'), ['nursery_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_batches_seed_act'), ['seed_act'], unique=False)
        batch_op.create_index('ix_batches_sown_on_id', ['sown_on', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_batches_species_id'), ['species_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_batches_target_id'), ['target_id'], unique=False)

    op.create_table('counts',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=False),
    sa.Column('stage', sa.Enum('sown', 'emerged', 'growing', 'hardening', 'ready', name='count_stage', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('counted_on', sa.Date(), nullable=False),
    sa.Column('plants', sa.Integer(), nullable=False),
    sa.Column('low', sa.Integer(), nullable=False),
    sa.Column('high', sa.Integer(), nullable=False),
    sa.Column('trays', sa.Integer(), nullable=False),
    sa.Column('sample', sa.JSON(none_as_null=True), nullable=True),
    sa.Column('before', sa.BigInteger(), nullable=False),
    sa.Column('grades', sa.JSON(none_as_null=True), nullable=True),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('act', sa.String(length=32), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_counts_withdrawn')),
    sa.CheckConstraint('low <= plants AND plants <= high', name=op.f('ck_counts_interval')),
    sa.CheckConstraint('low >= 0', name=op.f('ck_counts_low')),
    sa.CheckConstraint('plants >= 0', name=op.f('ck_counts_plants')),
    sa.CheckConstraint('trays >= 1', name=op.f('ck_counts_trays')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_counts_batch_id_batches')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_counts'))
    )
    with op.batch_alter_table('counts', schema=None) as batch_op:
        batch_op.create_index('ix_counts_batch_id_counted_on', ['batch_id', 'counted_on'], unique=False)

    op.create_table('expenses',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('spent_on', sa.Date(), nullable=False),
    sa.Column('what', sa.String(length=120), nullable=False),
    sa.Column('amount', sa.Double(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('species_id', sa.Integer(), nullable=True),
    sa.Column('funder', sa.String(length=120), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('amount > 0', name=op.f('ck_expenses_amount')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_expenses_batch_id_batches')),
    sa.ForeignKeyConstraint(['species_id'], ['species.id'], name=op.f('fk_expenses_species_id_species')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_expenses'))
    )
    with op.batch_alter_table('expenses', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_expenses_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_expenses_species_id'), ['species_id'], unique=False)
        batch_op.create_index('ix_expenses_spent_on_id', ['spent_on', 'id'], unique=False)

    op.create_table('placements',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=False),
    sa.Column('bench_id', sa.Integer(), nullable=False),
    sa.Column('trays', sa.Integer(), nullable=False),
    sa.Column('from_on', sa.Date(), nullable=False),
    sa.Column('until_on', sa.Date(), nullable=True),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.CheckConstraint('trays >= 1', name=op.f('ck_placements_trays')),
    sa.CheckConstraint('until_on >= from_on', name=op.f('ck_placements_days')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_placements_batch_id_batches')),
    sa.ForeignKeyConstraint(['bench_id'], ['benches.id'], name=op.f('fk_placements_bench_id_benches')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_placements'))
    )
    with op.batch_alter_table('placements', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_placements_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index('ix_placements_bench_id_until_on', ['bench_id', 'until_on'], unique=False)

    op.create_table('plant_movements',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('counted', 'lost', 'dispatched', 'returned', 'split', 'merged', 'reversal', name='plant_movement_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('change', sa.Integer(), nullable=False),
    sa.Column('cause', sa.Enum('unknown', 'no-emergence', 'damping-off', 'drought', 'waterlogging', 'heat', 'frost', 'pest', 'disease', 'animals', 'handling', 'thinned', 'graded-out', 'destroyed', name='cause', native_enum=False, create_constraint=True, length=20), nullable=True),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('happened_on', sa.Date(), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('act', sa.String(length=32), nullable=False),
    sa.Column('other_batch_id', sa.Integer(), nullable=True),
    sa.Column('site_id', sa.Integer(), nullable=True),
    sa.Column('target_id', sa.Integer(), nullable=True),
    sa.Column('reverses_id', sa.Integer(), nullable=True),
    sa.CheckConstraint("(kind = 'reversal') = (reverses_id IS NOT NULL)", name=op.f('ck_plant_movements_reverses')),
    sa.CheckConstraint("kind <> 'dispatched' OR (site_id IS NOT NULL AND change < 0)", name=op.f('ck_plant_movements_dispatched')),
    sa.CheckConstraint("kind <> 'lost' OR (cause IS NOT NULL AND change < 0)", name=op.f('ck_plant_movements_lost')),
    sa.CheckConstraint('change <> 0', name=op.f('ck_plant_movements_change')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_plant_movements_batch_id_batches')),
    sa.ForeignKeyConstraint(['other_batch_id'], ['batches.id'], name=op.f('fk_plant_movements_other_batch_id_batches')),
    sa.ForeignKeyConstraint(['reverses_id'], ['plant_movements.id'], name=op.f('fk_plant_movements_reverses_id_plant_movements')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_plant_movements_site_id_sites')),
    sa.ForeignKeyConstraint(['target_id'], ['targets.id'], name=op.f('fk_plant_movements_target_id_targets')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_plant_movements')),
    sa.UniqueConstraint('reverses_id', name=op.f('uq_plant_movements_reverses_id'))
    )
    with op.batch_alter_table('plant_movements', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_plant_movements_act'), ['act'], unique=False)
        batch_op.create_index('ix_plant_movements_batch_id_id', ['batch_id', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_plant_movements_other_batch_id'), ['other_batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_plant_movements_site_id'), ['site_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_plant_movements_target_id'), ['target_id'], unique=False)

    op.create_table('scoutings',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('seen_on', sa.Date(), nullable=False),
    sa.Column('finding', sa.Enum('nothing', 'pest', 'disease', 'disorder', 'weeds', 'animals', 'suspected-notifiable', name='finding', native_enum=False, create_constraint=True), nullable=False),
    sa.Column('description', sa.String(), server_default='', nullable=False),
    sa.Column('plants_affected', sa.Integer(), nullable=True),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('bench_id', sa.Integer(), nullable=True),
    sa.Column('nursery_id', sa.Integer(), nullable=True),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('reported_on', sa.Date(), nullable=True),
    sa.Column('closed_on', sa.Date(), nullable=True),
    sa.Column('outcome', sa.String(), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('batch_id IS NOT NULL OR bench_id IS NOT NULL OR nursery_id IS NOT NULL', name=op.f('ck_scoutings_somewhere')),
    sa.CheckConstraint('plants_affected >= 0', name=op.f('ck_scoutings_plants_affected')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_scoutings_batch_id_batches')),
    sa.ForeignKeyConstraint(['bench_id'], ['benches.id'], name=op.f('fk_scoutings_bench_id_benches')),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_scoutings_nursery_id_nurseries')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_scoutings'))
    )
    with op.batch_alter_table('scoutings', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_scoutings_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_scoutings_bench_id'), ['bench_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_scoutings_nursery_id'), ['nursery_id'], unique=False)
        batch_op.create_index('ix_scoutings_seen_on_id', ['seen_on', 'id'], unique=False)

    op.create_table('supply_movements',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('supply_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('counted', 'received', 'used', 'discarded', name='supply_movement_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('change', sa.Double(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('happened_on', sa.Date(), nullable=False),
    sa.Column('cost', sa.Double(), nullable=True),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.CheckConstraint('change <> 0', name=op.f('ck_supply_movements_change')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_supply_movements_batch_id_batches')),
    sa.ForeignKeyConstraint(['supply_id'], ['supplies.id'], name=op.f('fk_supply_movements_supply_id_supplies')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_supply_movements'))
    )
    with op.batch_alter_table('supply_movements', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_supply_movements_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index('ix_supply_movements_supply_id_id', ['supply_id', 'id'], unique=False)

    op.create_table('tasks',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('key', sa.String(length=120), nullable=False),
    sa.Column('uid', sa.String(length=64), nullable=False),
    sa.Column('sequence', sa.Integer(), server_default='0', nullable=False),
    sa.Column('job', sa.Enum('notice', 'collect', 'retest', 'withdraw', 'soak', 'scarify', 'stratify', 'check', 'sow', 'prick-out', 'thin', 'move', 'feed', 'water', 'weed', 'count', 'harden', 'grade', 'dispatch', 'survey', name='job', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('status', sa.Enum('open', 'partly', 'done', 'skipped', 'dropped', name='task_status', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('planned_on', sa.Date(), nullable=False),
    sa.Column('due_on', sa.Date(), nullable=False),
    sa.Column('until_on', sa.Date(), nullable=True),
    sa.Column('latest_on', sa.Date(), nullable=True),
    sa.Column('amount', sa.Double(), nullable=True),
    sa.Column('unit', sa.Enum('grams', 'seeds', 'cells', 'trays', 'plants', 'lots', name='unit', native_enum=False, create_constraint=True, length=20), nullable=True),
    sa.Column('done_amount', sa.Double(), nullable=True),
    sa.Column('hours', sa.Double(), nullable=True),
    sa.Column('details', sa.JSON(), nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=True),
    sa.Column('nursery_id', sa.Integer(), nullable=True),
    sa.Column('bench_id', sa.Integer(), nullable=True),
    sa.Column('line_id', sa.Integer(), nullable=True),
    sa.Column('lot_id', sa.Integer(), nullable=True),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('population_id', sa.Integer(), nullable=True),
    sa.Column('permit_id', sa.Integer(), nullable=True),
    sa.Column('site_id', sa.Integer(), nullable=True),
    sa.Column('after_id', sa.Integer(), nullable=True),
    sa.Column('gap_days', sa.Integer(), nullable=True),
    sa.Column('done_on', sa.Date(), nullable=True),
    sa.Column('done_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint("(status = 'done') = (done_on IS NOT NULL)", name=op.f('ck_tasks_done')),
    sa.CheckConstraint("status <> 'skipped' OR reason <> ''", name=op.f('ck_tasks_skipped')),
    sa.CheckConstraint('amount >= 0', name=op.f('ck_tasks_amount')),
    sa.CheckConstraint('done_amount >= 0', name=op.f('ck_tasks_done_amount')),
    sa.CheckConstraint('hours >= 0', name=op.f('ck_tasks_hours')),
    sa.CheckConstraint('until_on >= due_on', name=op.f('ck_tasks_days')),
    sa.ForeignKeyConstraint(['after_id'], ['tasks.id'], name=op.f('fk_tasks_after_id_tasks')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_tasks_batch_id_batches')),
    sa.ForeignKeyConstraint(['bench_id'], ['benches.id'], name=op.f('fk_tasks_bench_id_benches')),
    sa.ForeignKeyConstraint(['line_id'], ['plan_lines.id'], name=op.f('fk_tasks_line_id_plan_lines')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_tasks_lot_id_lots')),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_tasks_nursery_id_nurseries')),
    sa.ForeignKeyConstraint(['permit_id'], ['permits.id'], name=op.f('fk_tasks_permit_id_permits')),
    sa.ForeignKeyConstraint(['person_id'], ['people.id'], name=op.f('fk_tasks_person_id_people')),
    sa.ForeignKeyConstraint(['population_id'], ['populations.id'], name=op.f('fk_tasks_population_id_populations')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_tasks_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_tasks')),
    sa.UniqueConstraint('key', name=op.f('uq_tasks_key')),
    sa.UniqueConstraint('uid', name=op.f('uq_tasks_uid'))
    )
    with op.batch_alter_table('tasks', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_tasks_after_id'), ['after_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_bench_id'), ['bench_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_line_id'), ['line_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_lot_id'), ['lot_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_nursery_id'), ['nursery_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_permit_id'), ['permit_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_person_id'), ['person_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_population_id'), ['population_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_tasks_site_id'), ['site_id'], unique=False)
        batch_op.create_index('ix_tasks_status_due_on_id', ['status', 'due_on', 'id'], unique=False)

    op.create_table('quarantines',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('bench_id', sa.Integer(), nullable=True),
    sa.Column('scouting_id', sa.Integer(), nullable=True),
    sa.Column('since', sa.Date(), nullable=False),
    sa.Column('reason', sa.String(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('lifted_at', sa.DateTime(), nullable=True),
    sa.Column('lifted_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('lifted_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(lifted_at IS NULL) = (lifted_reason = '')", name=op.f('ck_quarantines_lifted')),
    sa.CheckConstraint("reason <> ''", name=op.f('ck_quarantines_reason')),
    sa.CheckConstraint('(batch_id IS NULL) <> (bench_id IS NULL)', name=op.f('ck_quarantines_one_place')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_quarantines_batch_id_batches')),
    sa.ForeignKeyConstraint(['bench_id'], ['benches.id'], name=op.f('fk_quarantines_bench_id_benches')),
    sa.ForeignKeyConstraint(['scouting_id'], ['scoutings.id'], name=op.f('fk_quarantines_scouting_id_scoutings')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_quarantines'))
    )
    with op.batch_alter_table('quarantines', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_quarantines_scouting_id'), ['scouting_id'], unique=False)
        batch_op.create_index('uq_quarantines_batch', ['batch_id'], unique=True, sqlite_where=sa.text('lifted_at IS NULL AND batch_id IS NOT NULL'), postgresql_where=sa.text('lifted_at IS NULL AND batch_id IS NOT NULL'))
        batch_op.create_index('uq_quarantines_bench', ['bench_id'], unique=True, sqlite_where=sa.text('lifted_at IS NULL AND bench_id IS NOT NULL'), postgresql_where=sa.text('lifted_at IS NULL AND bench_id IS NOT NULL'))

    op.create_table('treatments',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('treated_at', sa.DateTime(), nullable=False),
    sa.Column('product', sa.String(length=120), nullable=False),
    sa.Column('registration_number', sa.String(length=60), server_default='', nullable=False),
    sa.Column('active_substance', sa.String(length=120), server_default='', nullable=False),
    sa.Column('dose', sa.Double(), nullable=False),
    sa.Column('dose_unit', sa.String(length=40), nullable=False),
    sa.Column('area_m2', sa.Double(), nullable=True),
    sa.Column('water_l', sa.Double(), nullable=True),
    sa.Column('against', sa.String(length=120), server_default='', nullable=False),
    sa.Column('reentry_at', sa.DateTime(), nullable=True),
    sa.Column('applied_by', sa.String(length=80), nullable=False),
    sa.Column('certificate', sa.String(length=60), server_default='', nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('bench_id', sa.Integer(), nullable=True),
    sa.Column('nursery_id', sa.Integer(), nullable=True),
    sa.Column('scouting_id', sa.Integer(), nullable=True),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('area_m2 > 0', name=op.f('ck_treatments_area_m2')),
    sa.CheckConstraint('batch_id IS NOT NULL OR bench_id IS NOT NULL OR nursery_id IS NOT NULL', name=op.f('ck_treatments_somewhere')),
    sa.CheckConstraint('dose > 0', name=op.f('ck_treatments_dose')),
    sa.CheckConstraint('reentry_at >= treated_at', name=op.f('ck_treatments_reentry')),
    sa.CheckConstraint('water_l > 0', name=op.f('ck_treatments_water_l')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_treatments_batch_id_batches')),
    sa.ForeignKeyConstraint(['bench_id'], ['benches.id'], name=op.f('fk_treatments_bench_id_benches')),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_treatments_nursery_id_nurseries')),
    sa.ForeignKeyConstraint(['scouting_id'], ['scoutings.id'], name=op.f('fk_treatments_scouting_id_scoutings')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_treatments'))
    )
    with op.batch_alter_table('treatments', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_treatments_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_treatments_bench_id'), ['bench_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_treatments_nursery_id'), ['nursery_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_treatments_scouting_id'), ['scouting_id'], unique=False)
        batch_op.create_index('ix_treatments_treated_at_id', ['treated_at', 'id'], unique=False)

    op.create_table('work_times',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('worked_on', sa.Date(), nullable=False),
    sa.Column('job', sa.Enum('notice', 'collect', 'retest', 'withdraw', 'soak', 'scarify', 'stratify', 'check', 'sow', 'prick-out', 'thin', 'move', 'feed', 'water', 'weed', 'count', 'harden', 'grade', 'dispatch', 'survey', name='work_time_job', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('hours', sa.Double(), nullable=False),
    sa.Column('worker_id', sa.Integer(), nullable=True),
    sa.Column('task_id', sa.Integer(), nullable=True),
    sa.Column('batch_id', sa.Integer(), nullable=True),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_work_times_withdrawn')),
    sa.CheckConstraint('hours > 0', name=op.f('ck_work_times_hours')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_work_times_batch_id_batches')),
    sa.ForeignKeyConstraint(['task_id'], ['tasks.id'], name=op.f('fk_work_times_task_id_tasks')),
    sa.ForeignKeyConstraint(['worker_id'], ['people.id'], name=op.f('fk_work_times_worker_id_people')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_work_times'))
    )
    with op.batch_alter_table('work_times', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_work_times_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_work_times_task_id'), ['task_id'], unique=False)
        batch_op.create_index('ix_work_times_worked_on_id', ['worked_on', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_work_times_worker_id'), ['worker_id'], unique=False)

    needs_by_source()
    one_decision_of_a_kind()
    with op.batch_alter_table('plan_lines', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_plan_lines_need_id'))
        batch_op.drop_constraint(batch_op.f('fk_plan_lines_need_id_collection_needs'), type_='foreignkey')
        batch_op.drop_column('need_id')
        batch_op.add_column(sa.Column('growing', sa.JSON(none_as_null=True), nullable=True))

    with op.batch_alter_table('plantings', schema=None) as batch_op:
        batch_op.add_column(sa.Column('batch_id', sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f('ix_plantings_batch_id'), ['batch_id'], unique=False)
        batch_op.create_foreign_key(batch_op.f('fk_plantings_batch_id_batches'), 'batches', ['batch_id'], ['id'])

    with op.batch_alter_table('preferences', schema=None) as batch_op:
        batch_op.add_column(sa.Column('currency', sa.String(length=3), server_default='EUR', nullable=False))
        batch_op.add_column(sa.Column('wage_per_hour', sa.Double(), server_default='14', nullable=False))
        batch_op.add_column(sa.Column('volunteer_per_hour', sa.Double(), server_default='0', nullable=False))
        batch_op.add_column(sa.Column('overhead', sa.Double(), server_default='0.15', nullable=False))
        batch_op.add_column(sa.Column('health_contact', sa.String(length=200), server_default='', nullable=False))
        batch_op.add_column(sa.Column('feed_token', sa.String(length=64), nullable=True))
        batch_op.create_check_constraint(op.f('ck_preferences_wage_per_hour'), 'wage_per_hour >= 0')
        batch_op.create_check_constraint(op.f('ck_preferences_volunteer_per_hour'), 'volunteer_per_hour >= 0')
        batch_op.create_check_constraint(op.f('ck_preferences_overhead'), 'overhead >= 0')

    with op.batch_alter_table('targets', schema=None) as batch_op:
        batch_op.add_column(sa.Column('funder', sa.String(length=120), server_default='', nullable=False))

    for ledger in LEDGERS:
        guard(ledger)


def needs_by_source() -> None:
    """A line may wait for several needs, one for each source: which need it waits for moves to a table of its own."""
    op.create_table('need_parts',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('need_id', sa.Integer(), nullable=False),
    sa.Column('line_id', sa.Integer(), nullable=False),
    sa.Column('seeds', sa.BigInteger(), nullable=False),
    sa.Column('plants', sa.Integer(), nullable=False),
    sa.CheckConstraint('plants >= 0', name=op.f('ck_need_parts_plants')),
    sa.CheckConstraint('seeds >= 0', name=op.f('ck_need_parts_seeds')),
    sa.ForeignKeyConstraint(['line_id'], ['plan_lines.id'], name=op.f('fk_need_parts_line_id_plan_lines')),
    sa.ForeignKeyConstraint(['need_id'], ['collection_needs.id'], name=op.f('fk_need_parts_need_id_collection_needs')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_need_parts')),
    sa.UniqueConstraint('need_id', 'line_id', name=op.f('uq_need_parts_need_id_line_id'))
    )
    with op.batch_alter_table('need_parts', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_need_parts_line_id'), ['line_id'], unique=False)
    op.execute(
        "INSERT INTO need_parts (need_id, line_id, seeds, plants)"
        " SELECT need_id, id, seeds_missing, shortfall FROM plan_lines WHERE need_id IS NOT NULL ORDER BY id"
    )
    with op.batch_alter_table('collection_needs', schema=None) as batch_op:
        batch_op.add_column(sa.Column('source', sa.Enum('region', 'local', 'near', 'far', 'climate', name='need_source', native_enum=False, create_constraint=True, length=20), server_default='region', nullable=False))
        batch_op.add_column(sa.Column('purpose', sa.Enum('plants', 'shares', name='need_purpose', native_enum=False, create_constraint=True, length=20), server_default='plants', nullable=False))


OF_SITE = "withdrawn_at IS NULL AND target_id IS NULL"


def one_decision_of_a_kind() -> None:
    """Of decisions of one kind that stand twice on a lot and a site, the first goes on standing."""
    op.execute(
        "UPDATE decisions SET withdrawn_at = at, withdrawn_by = person,"
        " withdrawal = 'The same was decided twice; the first decision stands.'"
        f" WHERE {OF_SITE} AND id > (SELECT min(o.id) FROM decisions AS o WHERE o.withdrawn_at IS NULL AND"
        " o.target_id IS NULL AND o.lot_id = decisions.lot_id AND o.site_id = decisions.site_id"
        " AND o.kind = decisions.kind)"
    )
    with op.batch_alter_table('decisions', schema=None) as batch_op:
        batch_op.create_index('uq_decisions_standing_of_site', ['lot_id', 'site_id', 'kind'], unique=True, sqlite_where=sa.text(OF_SITE), postgresql_where=sa.text(OF_SITE))


def one_need_a_line() -> None:
    """Back to one need a line, that which gives most of its seed; needs for shares alone have no place there."""
    with op.batch_alter_table('plan_lines', schema=None) as batch_op:
        batch_op.drop_column('growing')
        batch_op.add_column(sa.Column('need_id', sa.Integer(), nullable=True))
    op.execute(
        "UPDATE plan_lines SET need_id = (SELECT p.need_id FROM need_parts AS p JOIN collection_needs AS n"
        " ON n.id = p.need_id WHERE p.line_id = plan_lines.id AND n.purpose = 'plants'"
        " ORDER BY p.seeds DESC, p.id LIMIT 1)"
    )
    with op.batch_alter_table('plan_lines', schema=None) as batch_op:
        batch_op.create_foreign_key(batch_op.f('fk_plan_lines_need_id_collection_needs'), 'collection_needs', ['need_id'], ['id'])
        batch_op.create_index(batch_op.f('ix_plan_lines_need_id'), ['need_id'], unique=False)
    with op.batch_alter_table('need_parts', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_need_parts_line_id'))
    op.drop_table('need_parts')
    op.execute("DELETE FROM collection_needs WHERE purpose = 'shares'")
    with op.batch_alter_table('collection_needs', schema=None) as batch_op:
        batch_op.drop_constraint(op.f('ck_collection_needs_need_purpose'), type_='check')
        batch_op.drop_constraint(op.f('ck_collection_needs_need_source'), type_='check')
        batch_op.drop_column('purpose')
        batch_op.drop_column('source')
    with op.batch_alter_table('decisions', schema=None) as batch_op:
        batch_op.drop_index('uq_decisions_standing_of_site', sqlite_where=sa.text(OF_SITE), postgresql_where=sa.text(OF_SITE))


def guard(ledger: str) -> None:
    """Let the database itself refuse to change or delete a movement."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {ledger}_no_{verb.lower()} BEFORE {verb} ON {ledger} "
                "BEGIN SELECT RAISE(ABORT, 'the ledger is only added to'); END"
            )
    elif op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE FUNCTION {ledger}_only_added() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'the ledger is only added to'; END $$"
        )
        op.execute(
            f"CREATE TRIGGER {ledger}_only_added BEFORE UPDATE OR DELETE ON {ledger} "
            f"FOR EACH ROW EXECUTE FUNCTION {ledger}_only_added()"
        )


def downgrade() -> None:
    with op.batch_alter_table('targets', schema=None) as batch_op:
        batch_op.drop_column('funder')

    with op.batch_alter_table('preferences', schema=None) as batch_op:
        batch_op.drop_constraint(op.f('ck_preferences_wage_per_hour'), type_='check')
        batch_op.drop_constraint(op.f('ck_preferences_volunteer_per_hour'), type_='check')
        batch_op.drop_constraint(op.f('ck_preferences_overhead'), type_='check')
        batch_op.drop_column('feed_token')
        batch_op.drop_column('health_contact')
        batch_op.drop_column('overhead')
        batch_op.drop_column('volunteer_per_hour')
        batch_op.drop_column('wage_per_hour')
        batch_op.drop_column('currency')

    with op.batch_alter_table('plantings', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('fk_plantings_batch_id_batches'), type_='foreignkey')
        batch_op.drop_index(batch_op.f('ix_plantings_batch_id'))
        batch_op.drop_column('batch_id')

    one_need_a_line()

    with op.batch_alter_table('work_times', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_work_times_worker_id'))
        batch_op.drop_index('ix_work_times_worked_on_id')
        batch_op.drop_index(batch_op.f('ix_work_times_task_id'))
        batch_op.drop_index(batch_op.f('ix_work_times_batch_id'))

    op.drop_table('work_times')
    with op.batch_alter_table('treatments', schema=None) as batch_op:
        batch_op.drop_index('ix_treatments_treated_at_id')
        batch_op.drop_index(batch_op.f('ix_treatments_scouting_id'))
        batch_op.drop_index(batch_op.f('ix_treatments_nursery_id'))
        batch_op.drop_index(batch_op.f('ix_treatments_bench_id'))
        batch_op.drop_index(batch_op.f('ix_treatments_batch_id'))

    op.drop_table('treatments')
    with op.batch_alter_table('quarantines', schema=None) as batch_op:
        batch_op.drop_index('uq_quarantines_bench', sqlite_where=sa.text('lifted_at IS NULL AND bench_id IS NOT NULL'), postgresql_where=sa.text('lifted_at IS NULL AND bench_id IS NOT NULL'))
        batch_op.drop_index('uq_quarantines_batch', sqlite_where=sa.text('lifted_at IS NULL AND batch_id IS NOT NULL'), postgresql_where=sa.text('lifted_at IS NULL AND batch_id IS NOT NULL'))
        batch_op.drop_index(batch_op.f('ix_quarantines_scouting_id'))

    op.drop_table('quarantines')
    with op.batch_alter_table('tasks', schema=None) as batch_op:
        batch_op.drop_index('ix_tasks_status_due_on_id')
        batch_op.drop_index(batch_op.f('ix_tasks_site_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_population_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_person_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_permit_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_nursery_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_lot_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_line_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_bench_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_batch_id'))
        batch_op.drop_index(batch_op.f('ix_tasks_after_id'))

    op.drop_table('tasks')
    with op.batch_alter_table('supply_movements', schema=None) as batch_op:
        batch_op.drop_index('ix_supply_movements_supply_id_id')
        batch_op.drop_index(batch_op.f('ix_supply_movements_batch_id'))

    op.drop_table('supply_movements')
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION supply_movements_only_added()")
    with op.batch_alter_table('scoutings', schema=None) as batch_op:
        batch_op.drop_index('ix_scoutings_seen_on_id')
        batch_op.drop_index(batch_op.f('ix_scoutings_nursery_id'))
        batch_op.drop_index(batch_op.f('ix_scoutings_bench_id'))
        batch_op.drop_index(batch_op.f('ix_scoutings_batch_id'))

    op.drop_table('scoutings')
    with op.batch_alter_table('plant_movements', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_plant_movements_target_id'))
        batch_op.drop_index(batch_op.f('ix_plant_movements_site_id'))
        batch_op.drop_index(batch_op.f('ix_plant_movements_other_batch_id'))
        batch_op.drop_index('ix_plant_movements_batch_id_id')
        batch_op.drop_index(batch_op.f('ix_plant_movements_act'))

    op.drop_table('plant_movements')
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION plant_movements_only_added()")
    with op.batch_alter_table('placements', schema=None) as batch_op:
        batch_op.drop_index('ix_placements_bench_id_until_on')
        batch_op.drop_index(batch_op.f('ix_placements_batch_id'))

    op.drop_table('placements')
    with op.batch_alter_table('expenses', schema=None) as batch_op:
        batch_op.drop_index('ix_expenses_spent_on_id')
        batch_op.drop_index(batch_op.f('ix_expenses_species_id'))
        batch_op.drop_index(batch_op.f('ix_expenses_batch_id'))

    op.drop_table('expenses')
    with op.batch_alter_table('counts', schema=None) as batch_op:
        batch_op.drop_index('ix_counts_batch_id_counted_on')

    op.drop_table('counts')
    with op.batch_alter_table('batches', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_batches_target_id'))
        batch_op.drop_index(batch_op.f('ix_batches_species_id'))
        batch_op.drop_index('ix_batches_sown_on_id')
        batch_op.drop_index(batch_op.f('ix_batches_seed_act'))
        batch_op.drop_index(batch_op.f('ix_batches_nursery_id'))
        batch_op.drop_index(batch_op.f('ix_batches_lot_id'))
        batch_op.drop_index(batch_op.f('ix_batches_line_id'))
        batch_op.drop_index(batch_op.f('ix_batches_container_id'))

    op.drop_table('batches')
    with op.batch_alter_table('supplies', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_supplies_container_id'))

    op.drop_table('supplies')
    with op.batch_alter_table('hygiene_checks', schema=None) as batch_op:
        batch_op.drop_index('ix_hygiene_checks_nursery_id_checked_on')

    op.drop_table('hygiene_checks')
    with op.batch_alter_table('benches', schema=None) as batch_op:
        batch_op.drop_index('uq_benches_name')

    op.drop_table('benches')
    op.drop_table('standard_times')
    op.drop_table('stage_rooms')
    op.drop_table('people')
