"""Accounts with roles, browsers signed in, one-time links and tokens; changes get an account, a reason and a seal.

What was written before is sealed as it stands, so that it can be proven from here on. Going back takes the accounts
and the seals away.

Revision: 0007, after 0006
"""

import datetime as dt
import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision = '0007'
down_revision = '0006'
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('failed_sign_ins',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('at', sa.DateTime(), nullable=False),
    sa.Column('email', sa.String(length=254), nullable=False),
    sa.Column('address', sa.String(length=45), nullable=False),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_failed_sign_ins'))
    )
    with op.batch_alter_table('failed_sign_ins', schema=None) as batch_op:
        batch_op.create_index('ix_failed_sign_ins_address_at', ['address', 'at'], unique=False)
        batch_op.create_index('ix_failed_sign_ins_email_at', ['email', 'at'], unique=False)

    op.create_table('accounts',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=80), nullable=False),
    sa.Column('email', sa.String(length=254), nullable=False),
    sa.Column('password_hash', sa.String(length=255), server_default='', nullable=False),
    sa.Column('nursery_id', sa.Integer(), nullable=True),
    sa.Column('totp_secret', sa.String(length=64), server_default='', nullable=False),
    sa.Column('totp_step', sa.Integer(), server_default='0', nullable=False),
    sa.Column('notes', sa.String(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.Column('created_at', sa.DateTime(), nullable=False),
    sa.Column('archived_at', sa.DateTime(), nullable=True),
    sa.CheckConstraint('email = lower(email)', name=op.f('ck_accounts_email')),
    sa.ForeignKeyConstraint(['nursery_id'], ['nurseries.id'], name=op.f('fk_accounts_nursery_id_nurseries')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_accounts')),
    sa.UniqueConstraint('email', name=op.f('uq_accounts_email')),
    sa.UniqueConstraint('name', name=op.f('uq_accounts_name'))
    )
    with op.batch_alter_table('accounts', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_accounts_nursery_id'), ['nursery_id'], unique=False)

    op.create_table('seals',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('change_id', sa.Integer(), nullable=False),
    sa.Column('hash', sa.String(length=64), nullable=False),
    sa.ForeignKeyConstraint(['change_id'], ['changes.id'], name=op.f('fk_seals_change_id_changes')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_seals')),
    sa.UniqueConstraint('change_id', name=op.f('uq_seals_change_id'))
    )
    op.create_table('account_roles',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('account_id', sa.Integer(), nullable=False),
    sa.Column('role', sa.Enum('coordinator', 'seed-keeper', 'grower', 'collector', 'viewer', 'administrator', name='account_role', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.ForeignKeyConstraint(['account_id'], ['accounts.id'], name=op.f('fk_account_roles_account_id_accounts')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_account_roles'))
    )
    with op.batch_alter_table('account_roles', schema=None) as batch_op:
        batch_op.create_index('uq_account_roles_account_id_role', ['account_id', 'role'], unique=True)

    op.create_table('api_tokens',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('account_id', sa.Integer(), nullable=False),
    sa.Column('name', sa.String(length=80), nullable=False),
    sa.Column('token_hash', sa.String(length=64), nullable=False),
    sa.Column('scope', sa.Enum('read', 'write', name='token_scope', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('made_at', sa.DateTime(), nullable=False),
    sa.Column('ends_on', sa.Date(), nullable=False),
    sa.Column('ended_at', sa.DateTime(), nullable=True),
    sa.ForeignKeyConstraint(['account_id'], ['accounts.id'], name=op.f('fk_api_tokens_account_id_accounts')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_api_tokens')),
    sa.UniqueConstraint('token_hash', name=op.f('uq_api_tokens_token_hash'))
    )
    with op.batch_alter_table('api_tokens', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_api_tokens_account_id'), ['account_id'], unique=False)

    op.create_table('one_time_links',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('account_id', sa.Integer(), nullable=False),
    sa.Column('token_hash', sa.String(length=64), nullable=False),
    sa.Column('purpose', sa.Enum('invitation', 'new-password', name='link_purpose', native_enum=False, create_constraint=True, length=20), nullable=False),
    sa.Column('ends_at', sa.DateTime(), nullable=False),
    sa.Column('used_at', sa.DateTime(), nullable=True),
    sa.ForeignKeyConstraint(['account_id'], ['accounts.id'], name=op.f('fk_one_time_links_account_id_accounts')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_one_time_links')),
    sa.UniqueConstraint('token_hash', name=op.f('uq_one_time_links_token_hash'))
    )
    with op.batch_alter_table('one_time_links', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_one_time_links_account_id'), ['account_id'], unique=False)

    op.create_table('sign_ins',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('account_id', sa.Integer(), nullable=False),
    sa.Column('token_hash', sa.String(length=64), nullable=False),
    sa.Column('began_at', sa.DateTime(), nullable=False),
    sa.Column('seen_at', sa.DateTime(), nullable=False),
    sa.Column('ends_at', sa.DateTime(), nullable=False),
    sa.Column('ended_at', sa.DateTime(), nullable=True),
    sa.Column('device', sa.String(length=200), server_default='', nullable=False),
    sa.ForeignKeyConstraint(['account_id'], ['accounts.id'], name=op.f('fk_sign_ins_account_id_accounts')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_sign_ins')),
    sa.UniqueConstraint('token_hash', name=op.f('uq_sign_ins_token_hash'))
    )
    with op.batch_alter_table('sign_ins', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_sign_ins_account_id'), ['account_id'], unique=False)

    with op.batch_alter_table('changes', schema=None) as batch_op:
        batch_op.add_column(sa.Column('account_id', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('reason', sa.String(), server_default='', nullable=False))
        batch_op.create_index('ix_changes_person_id', ['person', 'id'], unique=False)

    seal_what_is_there()
    for table in ('changes', 'seals'):
        guard(table)


def seal_what_is_there() -> None:
    """Chain the changes in the order in which they were written, a block at a time."""
    connection = op.get_bind()
    changes = sa.table(
        'changes', sa.column('id', sa.Integer), sa.column('at', sa.DateTime), sa.column('person', sa.String),
        sa.column('account_id', sa.Integer), sa.column('action', sa.String), sa.column('subject', sa.String),
        sa.column('subject_id', sa.Integer), sa.column('details', sa.JSON), sa.column('reason', sa.String),
    )
    seals = sa.table('seals', sa.column('id', sa.Integer), sa.column('change_id', sa.Integer), sa.column('hash', sa.String))
    place, last, before = 0, 0, '0' * 64
    while True:
        block = sa.select(changes).where(changes.c.id > last).order_by(changes.c.id).limit(5000)
        rows = connection.execute(block).mappings().all()
        if not rows:
            return
        links = []
        for row in rows:
            told = dict(row) | {'at': row['at'].replace(tzinfo=dt.UTC).isoformat()}
            text = json.dumps(told, sort_keys=True, ensure_ascii=False, separators=(',', ':'))
            before = hashlib.sha256(f"{before}\n{text}".encode()).hexdigest()
            place += 1
            links.append({'id': place, 'change_id': row['id'], 'hash': before})
        connection.execute(sa.insert(seals), links)
        last = rows[-1]['id']


def guard(table: str) -> None:
    """Let the database itself refuse to change or delete a row."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'the ledger is only added to'); END"
            )
    elif op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE FUNCTION {table}_only_added() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'the ledger is only added to'; END $$"
        )
        op.execute(
            f"CREATE TRIGGER {table}_only_added BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION {table}_only_added()"
        )



def downgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for table in ('changes', 'seals'):
            op.execute(f"DROP TRIGGER {table}_only_added ON {table}")
            op.execute(f"DROP FUNCTION {table}_only_added()")
    else:
        for verb in ('update', 'delete'):
            op.execute(f"DROP TRIGGER IF EXISTS changes_no_{verb}")
    with op.batch_alter_table('changes', schema=None) as batch_op:
        batch_op.drop_index('ix_changes_person_id')
        batch_op.drop_column('reason')
        batch_op.drop_column('account_id')

    with op.batch_alter_table('sign_ins', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_sign_ins_account_id'))

    op.drop_table('sign_ins')
    with op.batch_alter_table('one_time_links', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_one_time_links_account_id'))

    op.drop_table('one_time_links')
    with op.batch_alter_table('api_tokens', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_api_tokens_account_id'))

    op.drop_table('api_tokens')
    with op.batch_alter_table('account_roles', schema=None) as batch_op:
        batch_op.drop_index('uq_account_roles_account_id_role')

    op.drop_table('account_roles')
    op.drop_table('seals')
    with op.batch_alter_table('accounts', schema=None) as batch_op:
        batch_op.drop_index(batch_op.f('ix_accounts_nursery_id'))

    op.drop_table('accounts')
    with op.batch_alter_table('failed_sign_ins', schema=None) as batch_op:
        batch_op.drop_index('ix_failed_sign_ins_email_at')
        batch_op.drop_index('ix_failed_sign_ins_address_at')

    op.drop_table('failed_sign_ins')
