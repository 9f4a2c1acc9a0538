-- +goose Up
-- One row. Its row lock makes generations gapless: the number is taken inside
-- the transaction that changed something, and goes back if that rolls back.
create table ledger.counter (
    only_row boolean primary key default true constraint counter_has_one_row check (only_row),
    generation bigint not null constraint generations_count_from_zero check (generation >= 0)
);
insert into ledger.counter (generation) values (0);

create table ledger.run (
    no bigint primary key,
    program text not null,
    started_at timestamptz not null,
    ended_at timestamptz,
    state text not null constraint run_state_is_known check (state in ('running', 'done', 'failed', 'superseded')),
    constraint only_a_running_run_has_no_end check ((state = 'running') = (ended_at is null))
);
-- Fencing: every writing transaction first checks that its own run is running.
create unique index run_is_alone on ledger.run (state) where state = 'running';
comment on table ledger.run is 'Runs that held the run lock. Superseded: the process died or lost its connection, and a later run took over.';

create table ledger.delivery (
    no bigint primary key,
    run_no bigint not null references ledger.run,
    source_no smallint references registry.source,
    manifest bytea constraint manifest_is_a_sha256 check (octet_length(manifest) = 32),
    sequence bigint,
    month_from date,
    month_to date,
    coverage text constraint coverage_is_known check (coverage in ('every-birth', 'newborn-team-attended', 'newborn-helped')),
    mode text constraint mode_is_known check (mode in ('changes', 'complete')),
    privacy text constraint privacy_is_known check (privacy in ('inside', 'limited', 'year-only')),
    agreement text,
    synthetic boolean,
    extracted_at timestamptz,
    outcome text not null constraint outcome_is_known check (outcome in ('loaded', 'refused')),
    generation bigint,
    refused_rule text,
    refused_place text,
    refused_message text,
    constraint loaded_is_fully_described check (outcome <> 'loaded' or num_nulls(
        source_no, manifest, sequence, month_from, month_to, coverage, mode, privacy, synthetic, extracted_at) = 0),
    constraint limited_data_has_an_agreement check (outcome <> 'loaded' or privacy <> 'limited' or agreement is not null),
    constraint refused_has_a_rule check ((outcome = 'refused') = (refused_rule is not null)),
    constraint refused_changes_nothing check (outcome <> 'refused' or generation is null),
    constraint period_is_in_order check (month_from <= month_to)
);
-- Refused deliveries may come again; loaded ones may not, neither the same
-- manifest nor other content under the same sequence.
create unique index delivery_is_loaded_once on ledger.delivery (manifest) where outcome = 'loaded';
create unique index sequence_is_used_once on ledger.delivery (source_no, sequence) where outcome = 'loaded';
comment on table ledger.delivery is 'Deliveries and what became of them. A delivery without generation changed nothing.';

create table ledger.delivery_unit (
    delivery_no bigint not null references ledger.delivery on delete cascade,
    unit_no smallint not null references registry.unit,
    primary key (delivery_no, unit_no)
);

create table ledger.recording (
    delivery_no bigint not null references ledger.delivery on delete cascade,
    unit_no smallint not null references registry.unit,
    month_from date not null,
    how text not null,
    time_unit_s smallint not null,
    form text not null,
    temp_site text not null,
    primary key (delivery_no, unit_no, month_from)
);
comment on table ledger.recording is 'Declared changes in how a unit writes things down: they break its charts.';

create table ledger.generation (
    no bigint primary key,
    cause text not null constraint cause_is_known check (cause in ('delivery', 'derivation', 'purge', 'baseline')),
    delivery_no bigint references ledger.delivery,
    extracted_at timestamptz,
    constraint only_a_delivery_has_a_delivery check ((cause = 'delivery') = (delivery_no is not null))
);
comment on table ledger.generation is 'Versions of the data, without gaps. Reports name them; no report names a clock.';

create table ledger.file (
    delivery_no bigint not null references ledger.delivery on delete cascade,
    name text not null,
    sha256 bytea not null constraint file_has_a_sha256 check (octet_length(sha256) = 32),
    read bigint not null,
    loaded bigint not null constraint loaded_is_a_count check (loaded >= 0),
    revised bigint not null constraint revised_is_a_count check (revised >= 0),
    unchanged bigint not null constraint unchanged_is_a_count check (unchanged >= 0),
    withdrawn bigint not null constraint withdrawn_is_a_count check (withdrawn >= 0),
    superseded bigint not null constraint superseded_is_a_count check (superseded >= 0),
    duplicate bigint not null constraint duplicate_is_a_count check (duplicate >= 0),
    held bigint not null constraint held_is_a_count check (held >= 0),
    held_with bigint not null constraint held_with_is_a_count check (held_with >= 0),
    primary key (delivery_no, name),
    -- No row may vanish.
    constraint rows_add_up check (
        read = loaded + revised + unchanged + withdrawn + superseded + duplicate + held + held_with)
);

-- Neither table ever holds content: a held row may hold an identifier.
create table ledger.held (
    delivery_no bigint not null references ledger.delivery on delete cascade,
    file text not null,
    line integer not null,
    column_no integer not null,
    rule text not null,
    field text not null,
    key uuid,
    with_newborn boolean not null
);
create index held_delivery on ledger.held (delivery_no);
comment on table ledger.held is 'Rows kept out. with_newborn: an event row held because its newborn is.';

create table ledger.set_aside (
    delivery_no bigint not null references ledger.delivery on delete cascade,
    file text not null,
    line integer not null,
    column_no integer not null,
    rule text not null,
    field text not null,
    key uuid
);
create index set_aside_delivery on ledger.set_aside (delivery_no, key);
comment on table ledger.set_aside is 'Values found unusable; their newborn stays in every denominator.';

create table ledger.births_seen (
    source_no smallint not null references registry.source,
    unit_no smallint not null references registry.unit,
    month date not null,
    sequence bigint not null,
    primary key (source_no, unit_no, month)
);
create table ledger.births (
    source_no smallint not null references registry.source,
    unit_no smallint not null references registry.unit,
    month date not null,
    gestation_wk smallint not null constraint births_gestation_from_0_to_45 check (gestation_wk between 0 and 45),
    births bigint not null constraint births_is_a_count check (births >= 0),
    gen_from bigint not null,
    gen_to bigint constraint births_end_after_they_begin check (gen_to > gen_from),
    primary key (source_no, unit_no, month, gestation_wk, gen_from)
);
comment on table ledger.births is 'Births a unit, month and completed week (0: not known), versioned as documents are. A later sequence replaces a unit''s month as a whole.';

-- +goose Down
drop table ledger.births, ledger.births_seen, ledger.set_aside, ledger.held, ledger.file, ledger.generation,
    ledger.recording, ledger.delivery_unit, ledger.delivery, ledger.run, ledger.counter;
