"""Zones, climates, rules of origin, strategies, decisions and plantings; plans keep verdicts and mixes.

Every population becomes a seed source of the category source-identified, which is what was assumed until now.

Revision: 0004, after 0003
"""

import sqlalchemy as sa
from alembic import op

revision = '0004'
down_revision = '0003'
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('rule_sets',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=120), nullable=False),
    sa.Column('is_default', sa.Boolean(), server_default=sa.false(), nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_rule_sets')),
    sa.UniqueConstraint('name', name=op.f('uq_rule_sets_name'))
    )
    with op.batch_alter_table('rule_sets', schema=None) as batch_op:
        batch_op.create_index('uq_rule_sets_default', ['is_default'], unique=True, sqlite_where=sa.text('is_default'), postgresql_where=sa.text('is_default'))

    op.create_table('rule_versions',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('rule_set_id', sa.Integer(), nullable=False),
    sa.Column('valid_from', sa.Date(), nullable=False),
    sa.Column('rules', sa.JSON(), nullable=False),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.ForeignKeyConstraint(['rule_set_id'], ['rule_sets.id'], name=op.f('fk_rule_versions_rule_set_id_rule_sets')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_rule_versions')),
    sa.UniqueConstraint('rule_set_id', 'valid_from', name=op.f('uq_rule_versions_rule_set_id_valid_from'))
    )
    op.create_table('zones',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('region', 'basin', name='zone_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('jurisdiction', sa.String(length=60), server_default='', nullable=False),
    sa.Column('code', sa.String(length=80), nullable=False),
    sa.Column('name', sa.String(length=120), server_default='', nullable=False),
    sa.Column('species_id', sa.Integer(), nullable=True),
    sa.Column('geometry', sa.JSON(), nullable=False),
    sa.Column('lowest_m', sa.Double(), nullable=True),
    sa.Column('highest_m', sa.Double(), nullable=True),
    sa.Column('source', sa.String(), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint("kind = 'region' OR species_id IS NULL", name=op.f('ck_zones_basin_of_all_species')),
    sa.CheckConstraint('lowest_m <= highest_m', name=op.f('ck_zones_elevations')),
    sa.ForeignKeyConstraint(['species_id'], ['species.id'], name=op.f('fk_zones_species_id_species')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_zones'))
    )
    with op.batch_alter_table('zones', schema=None) as batch_op:
        batch_op.create_index('ix_zones_kind_code_id', ['kind', 'code', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_zones_species_id'), ['species_id'], unique=False)

    op.create_table('climates',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('population_id', sa.Integer(), nullable=True),
    sa.Column('site_id', sa.Integer(), nullable=True),
    sa.Column('period', sa.Enum('present', 'expected', name='climate_period', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('mean_annual_c', sa.Double(), nullable=True),
    sa.Column('annual_rain_mm', sa.Double(), nullable=True),
    sa.Column('summer_rain_mm', sa.Double(), nullable=True),
    sa.Column('coldest_month_min_c', sa.Double(), nullable=True),
    sa.Column('source', sa.String(length=200), server_default='', nullable=False),
    sa.CheckConstraint('(population_id IS NULL) <> (site_id IS NULL)', name=op.f('ck_climates_one_place')),
    sa.CheckConstraint('annual_rain_mm >= 0', name=op.f('ck_climates_annual_rain_mm')),
    sa.CheckConstraint('coldest_month_min_c BETWEEN -80 AND 60', name=op.f('ck_climates_coldest_month_min_c')),
    sa.CheckConstraint('mean_annual_c BETWEEN -60 AND 60', name=op.f('ck_climates_mean_annual_c')),
    sa.CheckConstraint('summer_rain_mm >= 0', name=op.f('ck_climates_summer_rain_mm')),
    sa.ForeignKeyConstraint(['population_id'], ['populations.id'], name=op.f('fk_climates_population_id_populations')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_climates_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_climates')),
    sa.UniqueConstraint('population_id', 'period', name=op.f('uq_climates_population_id_period')),
    sa.UniqueConstraint('site_id', 'period', name=op.f('uq_climates_site_id_period'))
    )
    op.create_table('strategies',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('strict', 'region', 'admixture', 'composite', 'climate', name='strategy_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('shares', sa.JSON(), nullable=False),
    sa.Column('tolerance', sa.Double(), nullable=False),
    sa.Column('least_populations', sa.Integer(), nullable=False),
    sa.Column('population_cap', sa.Double(), nullable=True),
    sa.Column('family_cap', sa.Double(), nullable=True),
    sa.Column('least_mothers', sa.Double(), nullable=True),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('family_cap > 0 AND family_cap <= 1', name=op.f('ck_strategies_family_cap')),
    sa.CheckConstraint('least_mothers >= 1', name=op.f('ck_strategies_least_mothers')),
    sa.CheckConstraint('least_populations >= 1', name=op.f('ck_strategies_least_populations')),
    sa.CheckConstraint('population_cap > 0 AND population_cap <= 1', name=op.f('ck_strategies_population_cap')),
    sa.CheckConstraint('tolerance >= 0 AND tolerance <= 1', name=op.f('ck_strategies_tolerance')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_strategies_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_strategies'))
    )
    with op.batch_alter_table('strategies', schema=None) as batch_op:
        batch_op.create_index('uq_strategies_site', ['site_id'], unique=True, sqlite_where=sa.text('archived_at IS NULL'), postgresql_where=sa.text('archived_at IS NULL'))

    op.create_table('decisions',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('pin', 'forbid', 'override', name='decision_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=False),
    sa.Column('target_id', sa.Integer(), nullable=True),
    sa.Column('plants', sa.Integer(), nullable=True),
    sa.Column('reason', sa.String(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawal', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(kind = 'pin') = (target_id IS NOT NULL)", name=op.f('ck_decisions_pin_of_target')),
    sa.CheckConstraint("kind = 'pin' OR plants IS NULL", name=op.f('ck_decisions_plants_of_pin')),
    sa.CheckConstraint("reason <> ''", name=op.f('ck_decisions_reason')),
    sa.CheckConstraint('plants >= 1', name=op.f('ck_decisions_plants')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_decisions_lot_id_lots')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_decisions_site_id_sites')),
    sa.ForeignKeyConstraint(['target_id'], ['targets.id'], name=op.f('fk_decisions_target_id_targets')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_decisions'))
    )
    with op.batch_alter_table('decisions', schema=None) as batch_op:
        batch_op.create_index('ix_decisions_site_id', ['site_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_decisions_target_id'), ['target_id'], unique=False)
        batch_op.create_index('uq_decisions_standing', ['lot_id', 'site_id', 'kind', 'target_id'], unique=True, sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))

    op.create_table('plantings',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=False),
    sa.Column('planted_on', sa.Date(), nullable=False),
    sa.Column('plants', sa.Integer(), nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('plants >= 1', name=op.f('ck_plantings_plants')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_plantings_lot_id_lots')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_plantings_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_plantings'))
    )
    with op.batch_alter_table('plantings', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_plantings_lot_id'), ['lot_id'], unique=False)
        batch_op.create_index('ix_plantings_site_id_planted_on', ['site_id', 'planted_on'], unique=False)

    with op.batch_alter_table('draws', schema=None) as batch_op:
        batch_op.add_column(sa.Column('verdict', sa.Enum('pass', 'caution', 'stop', name='draw_verdict', native_enum=False, create_constraint=True, length=20), nullable=True))
        batch_op.add_column(sa.Column('source', sa.Enum('local', 'near', 'far', 'climate', name='draw_source', native_enum=False, create_constraint=True, length=20), nullable=True))
        batch_op.add_column(sa.Column('reasons', sa.JSON(none_as_null=True), nullable=True))
        batch_op.add_column(sa.Column('rule_version_id', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('decision_id', sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f('ix_draws_decision_id'), ['decision_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_draws_rule_version_id'), ['rule_version_id'], unique=False)
        batch_op.create_foreign_key(batch_op.f('fk_draws_decision_id_decisions'), 'decisions', ['decision_id'], ['id'])
        batch_op.create_foreign_key(batch_op.f('fk_draws_rule_version_id_rule_versions'), 'rule_versions', ['rule_version_id'], ['id'])

    with op.batch_alter_table('plan_lines', schema=None) as batch_op:
        batch_op.add_column(sa.Column('mix', sa.JSON(none_as_null=True), nullable=True))
        batch_op.add_column(sa.Column('bottleneck', sa.JSON(none_as_null=True), nullable=True))

    with op.batch_alter_table('plans', schema=None) as batch_op:
        batch_op.add_column(sa.Column('allocation', sa.JSON(none_as_null=True), nullable=True))

    with op.batch_alter_table('populations', schema=None) as batch_op:
        batch_op.add_column(sa.Column('category', sa.Enum('source-identified', 'selected', 'qualified', 'tested', name='population_category', native_enum=False, create_constraint=True, length=20), server_default='source-identified', nullable=False))
        batch_op.add_column(sa.Column('basic_material', sa.Enum('seed source', 'stand', 'seed orchard', 'parents of family', 'clone', 'clonal mixture', name='basic_material', native_enum=False, create_constraint=True, length=20), server_default='seed source', nullable=False))

    with op.batch_alter_table('sites', schema=None) as batch_op:
        batch_op.add_column(sa.Column('native_only', sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.add_column(sa.Column('least_category', sa.Enum('source-identified', 'selected', 'qualified', 'tested', name='least_category', native_enum=False, create_constraint=True, length=20), nullable=True))
        batch_op.add_column(sa.Column('rule_set_id', sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f('ix_sites_rule_set_id'), ['rule_set_id'], unique=False)
        batch_op.create_foreign_key(batch_op.f('fk_sites_rule_set_id_rule_sets'), 'rule_sets', ['rule_set_id'], ['id'])



def downgrade() -> None:
    with op.batch_alter_table('sites', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('fk_sites_rule_set_id_rule_sets'), type_='foreignkey')
        batch_op.drop_index(batch_op.f('ix_sites_rule_set_id'))
        batch_op.drop_column('rule_set_id')
        batch_op.drop_constraint(op.f('ck_sites_least_category'), type_='check')
        batch_op.drop_column('least_category')
        batch_op.drop_column('native_only')

    with op.batch_alter_table('populations', schema=None) as batch_op:
        batch_op.drop_constraint(op.f('ck_populations_basic_material'), type_='check')
        batch_op.drop_constraint(op.f('ck_populations_population_category'), type_='check')
        batch_op.drop_column('basic_material')
        batch_op.drop_column('category')

    with op.batch_alter_table('plans', schema=None) as batch_op:
        batch_op.drop_column('allocation')

    with op.batch_alter_table('plan_lines', schema=None) as batch_op:
        batch_op.drop_column('bottleneck')
        batch_op.drop_column('mix')

    with op.batch_alter_table('draws', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('fk_draws_rule_version_id_rule_versions'), type_='foreignkey')
        batch_op.drop_constraint(batch_op.f('fk_draws_decision_id_decisions'), type_='foreignkey')
        batch_op.drop_index(batch_op.f('ix_draws_rule_version_id'))
        batch_op.drop_index(batch_op.f('ix_draws_decision_id'))
        batch_op.drop_column('decision_id')
        batch_op.drop_column('rule_version_id')
        batch_op.drop_column('reasons')
        batch_op.drop_constraint(op.f('ck_draws_draw_source'), type_='check')
        batch_op.drop_constraint(op.f('ck_draws_draw_verdict'), type_='check')
        batch_op.drop_column('source')
        batch_op.drop_column('verdict')

    with op.batch_alter_table('plantings', schema=None) as batch_op:
        batch_op.drop_index('ix_plantings_site_id_planted_on')
        batch_op.drop_index(batch_op.f('ix_plantings_lot_id'))

    op.drop_table('plantings')
    with op.batch_alter_table('decisions', schema=None) as batch_op:
        batch_op.drop_index('uq_decisions_standing', sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))
        batch_op.drop_index(batch_op.f('ix_decisions_target_id'))
        batch_op.drop_index('ix_decisions_site_id')

    op.drop_table('decisions')
    with op.batch_alter_table('strategies', schema=None) as batch_op:
        batch_op.drop_index('uq_strategies_site', sqlite_where=sa.text('archived_at IS NULL'), postgresql_where=sa.text('archived_at IS NULL'))

    op.drop_table('strategies')
    op.drop_table('climates')
    with op.batch_alter_table('zones', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_zones_species_id'))
        batch_op.drop_index('ix_zones_kind_code_id')

    op.drop_table('zones')
    op.drop_table('rule_versions')
    with op.batch_alter_table('rule_sets', schema=None) as batch_op:
        batch_op.drop_index('uq_rule_sets_default', sqlite_where=sa.text('is_default'), postgresql_where=sa.text('is_default'))

    op.drop_table('rule_sets')
