"""Loads with what arrived and came back, papers, quality checks, survival surveys, deviations and season reports.

Plantings learn who planted and on what ground, targets how many plants replace others, populations their register
reference, sites who takes plants over, preferences what papers and reports print of the supplier.

Revision: 0006, after 0005
"""

import sqlalchemy as sa
from alembic import op

revision = '0006'
down_revision = '0005'
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('recipients',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=120), nullable=False),
    sa.Column('kind', sa.Enum('own', 'professional', 'final-user', name='recipient_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('address', sa.String(), server_default='', nullable=False),
    sa.Column('country', sa.String(length=2), server_default='', nullable=False),
    sa.Column('operator_number', sa.String(length=40), server_default='', nullable=False),
    sa.Column('contact', sa.String(length=200), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_recipients')),
    sa.UniqueConstraint('name', name=op.f('uq_recipients_name'))
    )
    op.create_table('season_reports',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('season', sa.Integer(), nullable=False),
    sa.Column('as_of', sa.Date(), nullable=False),
    sa.Column('language', sa.String(length=5), nullable=False),
    sa.Column('figures', sa.JSON(), nullable=False),
    sa.Column('digest', sa.String(length=64), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('season BETWEEN 2000 AND 2200', name=op.f('ck_season_reports_season')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_season_reports'))
    )
    with op.batch_alter_table('season_reports', schema=None) as batch_op:
        batch_op.create_index('ix_season_reports_season_id', ['season', 'id'], unique=False)

    op.create_table('deviations',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('season', sa.Integer(), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=True),
    sa.Column('happened_on', sa.Date(), nullable=False),
    sa.Column('what', sa.String(), nullable=False),
    sa.Column('why', sa.String(), server_default='', nullable=False),
    sa.Column('action', sa.String(), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('season BETWEEN 2000 AND 2200', name=op.f('ck_deviations_season')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_deviations_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_deviations'))
    )
    with op.batch_alter_table('deviations', schema=None) as batch_op:
        batch_op.create_index('ix_deviations_season_id', ['season', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_deviations_site_id'), ['site_id'], unique=False)

    op.create_table('dispatches',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('code', sa.String(length=24), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=False),
    sa.Column('recipient_id', sa.Integer(), nullable=True),
    sa.Column('status', sa.Enum('planned', 'sent', 'received', 'cancelled', name='dispatch_status', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('planned_on', sa.Date(), nullable=False),
    sa.Column('sent_on', sa.Date(), nullable=True),
    sa.Column('vehicle', sa.String(length=80), server_default='', nullable=False),
    sa.Column('driver', sa.String(length=80), server_default='', nullable=False),
    sa.Column('received_on', sa.Date(), nullable=True),
    sa.Column('received_time', sa.String(length=5), server_default='', nullable=False),
    sa.Column('received_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint("(status = 'received') = (received_by <> '')", name=op.f('ck_dispatches_received_by')),
    sa.CheckConstraint("(status = 'received') = (received_on IS NOT NULL)", name=op.f('ck_dispatches_received')),
    sa.CheckConstraint("(status IN ('sent', 'received')) = (sent_on IS NOT NULL)", name=op.f('ck_dispatches_sent')),
    sa.CheckConstraint("status <> 'cancelled' OR reason <> ''", name=op.f('ck_dispatches_cancelled')),
    sa.CheckConstraint('received_on >= sent_on', name=op.f('ck_dispatches_days')),
    sa.ForeignKeyConstraint(['recipient_id'], ['recipients.id'], name=op.f('fk_dispatches_recipient_id_recipients')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_dispatches_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_dispatches')),
    sa.UniqueConstraint('code', name=op.f('uq_dispatches_code'))
    )
    with op.batch_alter_table('dispatches', schema=None) as batch_op:
        batch_op.create_index('ix_dispatches_planned_on_id', ['planned_on', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_dispatches_recipient_id'), ['recipient_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_dispatches_site_id'), ['site_id'], unique=False)

    op.create_table('survey_plots',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('site_id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=80), nullable=False),
    sa.Column('area_m2', sa.Double(), nullable=True),
    sa.Column('latitude', sa.Double(), nullable=True),
    sa.Column('longitude', sa.Double(), nullable=True),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('area_m2 > 0', name=op.f('ck_survey_plots_area_m2')),
    sa.CheckConstraint('latitude BETWEEN -90 AND 90', name=op.f('ck_survey_plots_latitude')),
    sa.CheckConstraint('longitude BETWEEN -180 AND 180', name=op.f('ck_survey_plots_longitude')),
    sa.ForeignKeyConstraint(['site_id'], ['sites.id'], name=op.f('fk_survey_plots_site_id_sites')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_survey_plots')),
    sa.UniqueConstraint('site_id', 'name', name=op.f('uq_survey_plots_site_id_name'))
    )
    with op.batch_alter_table('survey_plots', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_survey_plots_site_id'), ['site_id'], unique=False)

    op.create_table('papers',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('number', sa.String(length=40), nullable=False),
    sa.Column('kind', sa.Enum('seed-document', 'seed-label', 'plant-document', 'plant-label', 'passport', 'delivery-note', name='paper_kind', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('dispatch_id', sa.Integer(), nullable=True),
    sa.Column('lot_id', sa.Integer(), nullable=True),
    sa.Column('act', sa.String(length=32), server_default='', nullable=False),
    sa.Column('recipient_id', sa.Integer(), nullable=True),
    sa.Column('regime', sa.String(length=40), server_default='', nullable=False),
    sa.Column('regime_from', sa.Date(), nullable=True),
    sa.Column('language', sa.String(length=5), nullable=False),
    sa.Column('particulars', sa.JSON(), nullable=False),
    sa.Column('issued_on', sa.Date(), nullable=False),
    sa.Column('keep_until', sa.Date(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('signed_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('signed_on', sa.Date(), nullable=True),
    sa.Column('voided_at', sa.DateTime(), nullable=True),
    sa.Column('voided_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('void_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(voided_at IS NULL) = (void_reason = '')", name=op.f('ck_papers_voided')),
    sa.CheckConstraint('dispatch_id IS NOT NULL OR lot_id IS NOT NULL', name=op.f('ck_papers_subject')),
    sa.CheckConstraint('keep_until >= issued_on', name=op.f('ck_papers_keep_until')),
    sa.ForeignKeyConstraint(['dispatch_id'], ['dispatches.id'], name=op.f('fk_papers_dispatch_id_dispatches')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_papers_lot_id_lots')),
    sa.ForeignKeyConstraint(['recipient_id'], ['recipients.id'], name=op.f('fk_papers_recipient_id_recipients')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_papers')),
    sa.UniqueConstraint('number', name=op.f('uq_papers_number'))
    )
    with op.batch_alter_table('papers', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_papers_act'), ['act'], unique=False)
        batch_op.create_index(batch_op.f('ix_papers_dispatch_id'), ['dispatch_id'], unique=False)
        batch_op.create_index('ix_papers_issued_on_id', ['issued_on', 'id'], unique=False)
        batch_op.create_index(batch_op.f('ix_papers_lot_id'), ['lot_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_papers_recipient_id'), ['recipient_id'], unique=False)

    op.create_table('surveys',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('plot_id', sa.Integer(), nullable=False),
    sa.Column('season', sa.Integer(), nullable=False),
    sa.Column('year', sa.Integer(), nullable=False),
    sa.Column('surveyed_on', sa.Date(), nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_surveys_withdrawn')),
    sa.CheckConstraint('season BETWEEN 1900 AND 2200', name=op.f('ck_surveys_season')),
    sa.CheckConstraint('year BETWEEN 1 AND 20', name=op.f('ck_surveys_year')),
    sa.ForeignKeyConstraint(['plot_id'], ['survey_plots.id'], name=op.f('fk_surveys_plot_id_survey_plots')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_surveys'))
    )
    with op.batch_alter_table('surveys', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_surveys_plot_id'), ['plot_id'], unique=False)
        batch_op.create_index('ix_surveys_surveyed_on_id', ['surveyed_on', 'id'], unique=False)

    op.create_table('survey_counts',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('survey_id', sa.Integer(), nullable=False),
    sa.Column('species_id', sa.Integer(), nullable=False),
    sa.Column('lot_id', sa.Integer(), nullable=True),
    sa.Column('planted', sa.Integer(), nullable=False),
    sa.Column('alive', sa.Integer(), nullable=False),
    sa.Column('causes', sa.JSON(), nullable=False),
    sa.Column('replacements_alive', sa.Integer(), server_default='0', nullable=False),
    sa.Column('evidence_id', sa.Integer(), nullable=True),
    sa.Column('target_id', sa.Integer(), nullable=True),
    sa.Column('replaced', sa.Integer(), nullable=True),
    sa.CheckConstraint('(target_id IS NULL) = (replaced IS NULL)', name=op.f('ck_survey_counts_handed_on')),
    sa.CheckConstraint('alive BETWEEN 0 AND planted', name=op.f('ck_survey_counts_alive')),
    sa.CheckConstraint('planted >= 1', name=op.f('ck_survey_counts_planted')),
    sa.CheckConstraint('replaced >= 1', name=op.f('ck_survey_counts_replaced')),
    sa.CheckConstraint('replacements_alive >= 0', name=op.f('ck_survey_counts_replacements_alive')),
    sa.ForeignKeyConstraint(['evidence_id'], ['evidence.id'], name=op.f('fk_survey_counts_evidence_id_evidence')),
    sa.ForeignKeyConstraint(['lot_id'], ['lots.id'], name=op.f('fk_survey_counts_lot_id_lots')),
    sa.ForeignKeyConstraint(['species_id'], ['species.id'], name=op.f('fk_survey_counts_species_id_species')),
    sa.ForeignKeyConstraint(['survey_id'], ['surveys.id'], name=op.f('fk_survey_counts_survey_id_surveys')),
    sa.ForeignKeyConstraint(['target_id'], ['targets.id'], name=op.f('fk_survey_counts_target_id_targets')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_survey_counts')),
    sa.UniqueConstraint('survey_id', 'species_id', name=op.f('uq_survey_counts_survey_id_species_id'))
    )
    with op.batch_alter_table('survey_counts', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_survey_counts_evidence_id'), ['evidence_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_survey_counts_lot_id'), ['lot_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_survey_counts_species_id'), ['species_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_survey_counts_target_id'), ['target_id'], unique=False)

    op.create_table('dispatch_lines',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('dispatch_id', sa.Integer(), nullable=False),
    sa.Column('position', sa.Integer(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=False),
    sa.Column('target_id', sa.Integer(), nullable=True),
    sa.Column('grade', sa.String(length=20), server_default='', nullable=False),
    sa.Column('plants', sa.Integer(), nullable=False),
    sa.Column('sent', sa.Integer(), nullable=True),
    sa.Column('received', sa.Integer(), nullable=True),
    sa.Column('substitutes_id', sa.Integer(), nullable=True),
    sa.Column('reason', sa.String(), server_default='', nullable=False),
    sa.Column('act', sa.String(length=32), server_default='', nullable=False),
    sa.CheckConstraint("substitutes_id IS NULL OR reason <> ''", name=op.f('ck_dispatch_lines_substituted')),
    sa.CheckConstraint('plants >= 1', name=op.f('ck_dispatch_lines_plants')),
    sa.CheckConstraint('received BETWEEN 0 AND sent', name=op.f('ck_dispatch_lines_received')),
    sa.CheckConstraint('sent BETWEEN 0 AND plants', name=op.f('ck_dispatch_lines_sent')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_dispatch_lines_batch_id_batches')),
    sa.ForeignKeyConstraint(['dispatch_id'], ['dispatches.id'], name=op.f('fk_dispatch_lines_dispatch_id_dispatches')),
    sa.ForeignKeyConstraint(['substitutes_id'], ['batches.id'], name=op.f('fk_dispatch_lines_substitutes_id_batches')),
    sa.ForeignKeyConstraint(['target_id'], ['targets.id'], name=op.f('fk_dispatch_lines_target_id_targets')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_dispatch_lines')),
    sa.UniqueConstraint('dispatch_id', 'batch_id', 'target_id', name=op.f('uq_dispatch_lines_dispatch_id_batch_id_target_id'))
    )
    with op.batch_alter_table('dispatch_lines', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_dispatch_lines_act'), ['act'], unique=False)
        batch_op.create_index(batch_op.f('ix_dispatch_lines_batch_id'), ['batch_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_dispatch_lines_substitutes_id'), ['substitutes_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_dispatch_lines_target_id'), ['target_id'], unique=False)

    op.create_table('quality_checks',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('batch_id', sa.Integer(), nullable=False),
    sa.Column('checked_on', sa.Date(), nullable=False),
    sa.Column('looked_at', sa.Integer(), nullable=False),
    sa.Column('fair', sa.Integer(), nullable=False),
    sa.Column('heights_cm', sa.JSON(), nullable=True),
    sa.Column('collars_mm', sa.JSON(), nullable=True),
    sa.Column('defects', sa.JSON(), nullable=True),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('withdrawn_at', sa.DateTime(), nullable=True),
    sa.Column('withdrawn_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.String(), server_default='', nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_quality_checks_withdrawn')),
    sa.CheckConstraint('fair BETWEEN 0 AND looked_at', name=op.f('ck_quality_checks_fair')),
    sa.CheckConstraint('looked_at >= 1', name=op.f('ck_quality_checks_looked_at')),
    sa.ForeignKeyConstraint(['batch_id'], ['batches.id'], name=op.f('fk_quality_checks_batch_id_batches')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_quality_checks'))
    )
    with op.batch_alter_table('quality_checks', schema=None) as batch_op:
        batch_op.create_index('ix_quality_checks_batch_id_checked_on', ['batch_id', 'checked_on'], unique=False)

    op.create_table('returned_plants',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('line_id', sa.Integer(), nullable=False),
    sa.Column('plants', sa.Integer(), nullable=False),
    sa.Column('returned_on', sa.Date(), nullable=False),
    sa.Column('is_missing', sa.Boolean(), server_default=sa.false(), nullable=False),
    sa.Column('condition', sa.String(), server_default='', nullable=False),
    sa.Column('person', sa.String(length=80), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('decision', sa.Enum('back-in-stock', 'discarded', name='return_decision', native_enum=False, create_constraint=True, length=20), nullable=True),
    sa.Column('decided_on', sa.Date(), nullable=True),
    sa.Column('decided_by', sa.String(length=80), server_default='', nullable=False),
    sa.Column('decided_reason', sa.String(), server_default='', nullable=False),
    sa.Column('act', sa.String(length=32), server_default='', nullable=False),
    sa.CheckConstraint("(decision IS NULL AND decided_on IS NULL AND decided_by = '' AND decided_reason = '') OR (decision IS NOT NULL AND decided_on IS NOT NULL AND decided_by <> '' AND decided_reason <> '')", name=op.f('ck_returned_plants_decided')),
    sa.CheckConstraint('decided_on >= returned_on', name=op.f('ck_returned_plants_days')),
    sa.CheckConstraint('plants >= 1', name=op.f('ck_returned_plants_plants')),
    sa.ForeignKeyConstraint(['line_id'], ['dispatch_lines.id'], name=op.f('fk_returned_plants_line_id_dispatch_lines')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_returned_plants'))
    )
    with op.batch_alter_table('returned_plants', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_returned_plants_act'), ['act'], unique=False)
        batch_op.create_index(batch_op.f('ix_returned_plants_line_id'), ['line_id'], unique=False)

    with op.batch_alter_table('plantings', schema=None) as batch_op:
        batch_op.add_column(sa.Column('dispatch_line_id', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('people', sa.String(length=200), server_default='', nullable=False))
        batch_op.add_column(sa.Column('volunteers', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('hours', sa.Double(), nullable=True))
        batch_op.add_column(sa.Column('area_m2', sa.Double(), nullable=True))
        batch_op.add_column(sa.Column('is_replacement', sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.create_index(batch_op.f('ix_plantings_dispatch_line_id'), ['dispatch_line_id'], unique=False)
        batch_op.create_foreign_key(batch_op.f('fk_plantings_dispatch_line_id_dispatch_lines'), 'dispatch_lines', ['dispatch_line_id'], ['id'])
        batch_op.create_check_constraint(op.f('ck_plantings_area_m2'), 'area_m2 > 0')
        batch_op.create_check_constraint(op.f('ck_plantings_volunteers'), 'volunteers >= 0')
        batch_op.create_check_constraint(op.f('ck_plantings_hours'), 'hours > 0')

    with op.batch_alter_table('populations', schema=None) as batch_op:
        batch_op.add_column(sa.Column('register_reference', sa.String(length=40), server_default='', nullable=False))
        batch_op.add_column(sa.Column('country', sa.String(length=2), server_default='', nullable=False))
        batch_op.add_column(sa.Column('is_sensitive', sa.Boolean(), server_default=sa.false(), nullable=False))

    with op.batch_alter_table('preferences', schema=None) as batch_op:
        batch_op.add_column(sa.Column('address', sa.String(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('country', sa.String(length=2), server_default='', nullable=False))
        batch_op.add_column(sa.Column('supplier_number', sa.String(length=40), server_default='', nullable=False))
        batch_op.add_column(sa.Column('operator_number', sa.String(length=40), server_default='', nullable=False))
        batch_op.add_column(sa.Column('records_years', sa.Integer(), server_default='10', nullable=False))
        batch_op.create_check_constraint(op.f('ck_preferences_records_years'), 'records_years >= 3')
        batch_op.add_column(sa.Column('report_opening', sa.String(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('report_closing', sa.String(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('report_colour', sa.String(length=7), server_default='', nullable=False))

    with op.batch_alter_table('sites', schema=None) as batch_op:
        batch_op.add_column(sa.Column('recipient_id', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('planting_permit', sa.String(length=60), server_default='', nullable=False))
        batch_op.create_index(batch_op.f('ix_sites_recipient_id'), ['recipient_id'], unique=False)
        batch_op.create_foreign_key(batch_op.f('fk_sites_recipient_id_recipients'), 'recipients', ['recipient_id'], ['id'])

    with op.batch_alter_table('targets', schema=None) as batch_op:
        batch_op.add_column(sa.Column('replacements', sa.Integer(), server_default='0', nullable=False))
        batch_op.create_check_constraint(op.f('ck_targets_replacements'), 'replacements >= 0')
        batch_op.create_check_constraint(
            op.f('ck_targets_replacements_of_plants'), 'replacements = 0 OR replacements <= plants'
        )



def downgrade() -> None:
    with op.batch_alter_table('targets', schema=None) as batch_op:
        batch_op.drop_constraint(op.f('ck_targets_replacements_of_plants'), type_='check')
        batch_op.drop_constraint(op.f('ck_targets_replacements'), type_='check')
        batch_op.drop_column('replacements')

    with op.batch_alter_table('sites', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('fk_sites_recipient_id_recipients'), type_='foreignkey')
        batch_op.drop_index(batch_op.f('ix_sites_recipient_id'))
        batch_op.drop_column('planting_permit')
        batch_op.drop_column('recipient_id')

    with op.batch_alter_table('preferences', schema=None) as batch_op:
        batch_op.drop_column('report_colour')
        batch_op.drop_column('report_closing')
        batch_op.drop_column('report_opening')
        batch_op.drop_constraint(op.f('ck_preferences_records_years'), type_='check')
        batch_op.drop_column('records_years')
        batch_op.drop_column('operator_number')
        batch_op.drop_column('supplier_number')
        batch_op.drop_column('country')
        batch_op.drop_column('address')

    with op.batch_alter_table('populations', schema=None) as batch_op:
        batch_op.drop_column('is_sensitive')
        batch_op.drop_column('country')
        batch_op.drop_column('register_reference')

    with op.batch_alter_table('plantings', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('fk_plantings_dispatch_line_id_dispatch_lines'), type_='foreignkey')
        batch_op.drop_index(batch_op.f('ix_plantings_dispatch_line_id'))
        batch_op.drop_constraint(op.f('ck_plantings_hours'), type_='check')
        batch_op.drop_constraint(op.f('ck_plantings_volunteers'), type_='check')
        batch_op.drop_constraint(op.f('ck_plantings_area_m2'), type_='check')
        batch_op.drop_column('is_replacement')
        batch_op.drop_column('area_m2')
        batch_op.drop_column('hours')
        batch_op.drop_column('volunteers')
        batch_op.drop_column('people')
        batch_op.drop_column('dispatch_line_id')

    with op.batch_alter_table('returned_plants', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_returned_plants_line_id'))
        batch_op.drop_index(batch_op.f('ix_returned_plants_act'))

    op.drop_table('returned_plants')
    with op.batch_alter_table('quality_checks', schema=None) as batch_op:
        batch_op.drop_index('ix_quality_checks_batch_id_checked_on')

    op.drop_table('quality_checks')
    with op.batch_alter_table('dispatch_lines', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_dispatch_lines_target_id'))
        batch_op.drop_index(batch_op.f('ix_dispatch_lines_substitutes_id'))
        batch_op.drop_index(batch_op.f('ix_dispatch_lines_batch_id'))
        batch_op.drop_index(batch_op.f('ix_dispatch_lines_act'))

    op.drop_table('dispatch_lines')
    with op.batch_alter_table('survey_counts', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_survey_counts_target_id'))
        batch_op.drop_index(batch_op.f('ix_survey_counts_species_id'))
        batch_op.drop_index(batch_op.f('ix_survey_counts_lot_id'))
        batch_op.drop_index(batch_op.f('ix_survey_counts_evidence_id'))

    op.drop_table('survey_counts')
    with op.batch_alter_table('surveys', schema=None) as batch_op:
        batch_op.drop_index('ix_surveys_surveyed_on_id')
        batch_op.drop_index(batch_op.f('ix_surveys_plot_id'))

    op.drop_table('surveys')
    with op.batch_alter_table('papers', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_papers_recipient_id'))
        batch_op.drop_index(batch_op.f('ix_papers_lot_id'))
        batch_op.drop_index('ix_papers_issued_on_id')
        batch_op.drop_index(batch_op.f('ix_papers_dispatch_id'))
        batch_op.drop_index(batch_op.f('ix_papers_act'))

    op.drop_table('papers')
    with op.batch_alter_table('survey_plots', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_survey_plots_site_id'))

    op.drop_table('survey_plots')
    with op.batch_alter_table('dispatches', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_dispatches_site_id'))
        batch_op.drop_index(batch_op.f('ix_dispatches_recipient_id'))
        batch_op.drop_index('ix_dispatches_planned_on_id')

    op.drop_table('dispatches')
    with op.batch_alter_table('deviations', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_deviations_site_id'))
        batch_op.drop_index('ix_deviations_season_id')

    op.drop_table('deviations')
    with op.batch_alter_table('season_reports', schema=None) as batch_op:
        batch_op.drop_index('ix_season_reports_season_id')

    op.drop_table('season_reports')
    op.drop_table('recipients')
