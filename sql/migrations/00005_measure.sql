-- +goose Up
create table measure.definition (
    id text not null,
    hash text not null,
    version text not null,
    body text not null,
    generation bigint not null,
    primary key (id, hash)
);
comment on table measure.definition is 'Every definition that a cell or a baseline was ever computed from, as it was written.';

create table measure.cell (
    unit_no smallint not null references registry.unit,
    month date not null constraint cell_month_is_a_first_day check (extract(day from month) = 1),
    measure text not null,
    band smallint not null,
    outside integer not null,
    eligibility_unknown integer not null,
    excluded integer[] not null,
    exceptions integer[] not null,
    unknown integer not null,
    undecided integer not null,
    not_met integer not null,
    met integer not null,
    presumed integer not null,
    item_order integer[] not null,
    item_low double precision[] not null,
    item_high double precision[] not null,
    item_end text[] not null,
    births integer not null,
    definition text not null,
    derivation smallint not null,
    generation bigint not null,
    primary key (unit_no, month, measure, band),
    constraint cell_counts_are_counts check (least(outside, eligibility_unknown, unknown, undecided, not_met, met, presumed, births) >= 0),
    constraint cell_reasons_are_counts check (0 <= all (excluded) and 0 <= all (exceptions)),
    constraint cell_items_have_one_length check (cardinality(item_low) = cardinality(item_order)
        and cardinality(item_high) = cardinality(item_order) and cardinality(item_end) = cardinality(item_order)),
    -- A value that is not a number would leave the registry as one.
    constraint cell_items_are_numbers check ('NaN' <> all (item_low) and 'NaN' <> all (item_high)
        and '-Infinity' < all (item_low) and 'Infinity' > all (item_high))
);
create index cell_measure on measure.cell (measure, unit_no, month);
comment on table measure.cell is 'What a measure counted in a unit, month and gestation band. band 0: outside every band.';
comment on column measure.cell.definition is 'Hash of the definition and its parameters: with derivation, the basis of the cell.';

create table measure.baseline (
    unit_no smallint not null references registry.unit,
    measure text not null,
    phase date not null,
    definition text not null,
    derivation smallint not null,
    month_from date not null,
    month_to date not null,
    chart text not null,
    period text not null constraint period_is_known check (period in ('month', 'quarter', 'event')),
    centre double precision not null,
    spread double precision not null constraint spread_is_not_negative check (spread >= 0),
    points integer not null,
    denominator bigint not null,
    provisional boolean not null,
    reason text not null constraint baseline_has_a_reason check (reason <> ''),
    generation bigint not null,
    primary key (unit_no, measure, phase, definition, derivation),
    constraint window_is_in_order check (month_from <= month_to),
    constraint centre_is_a_number check (centre not in ('NaN', 'Infinity', '-Infinity') and spread not in ('NaN', 'Infinity'))
);
comment on table measure.baseline is 'The stored past against which a chart judges. Written once, never changed.';

-- +goose StatementBegin
create function measure.refuse_change() returns trigger language plpgsql as $$
begin
    raise exception 'a stored baseline is never changed' using errcode = 'restrict_violation';
end $$;
-- +goose StatementEnd
create trigger baseline_is_frozen before update on measure.baseline
    for each row execute function measure.refuse_change();

-- +goose Down
drop table measure.baseline, measure.cell, measure.definition;
drop function measure.refuse_change();
