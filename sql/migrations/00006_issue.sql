-- +goose Up
-- An issue keeps its own words instead of references: what was printed stays
-- readable when units and measures are renamed.
create table issue.issue (
    kind text not null,
    unit text not null,
    period text not null,
    no integer not null,
    replaces integer not null constraint issue_replaces_an_earlier_one check (replaces >= 0 and replaces < no),
    state text not null constraint issue_state_is_known check (state in ('planned', 'published')),
    model bytea not null constraint model_is_a_sha256 check (octet_length(model) = 32),
    generation bigint not null,
    primary key (kind, unit, period, no)
);
create index issue_unfinished on issue.issue (kind, unit, period) where state = 'planned';
comment on table issue.issue is 'Numbered editions of reports. Planned before it is drawn, published when its folder is in place; never rewritten.';
comment on column issue.issue.unit is 'Unit code; empty: a report about several units.';
comment on column issue.issue.replaces is 'Number of the issue it replaces; 0: the first.';

create table issue.file (
    kind text not null,
    unit text not null,
    period text not null,
    no integer not null,
    name text not null,
    sha256 bytea not null constraint issued_file_has_a_sha256 check (octet_length(sha256) = 32),
    bytes bigint not null constraint issued_file_has_a_size check (bytes >= 0),
    primary key (kind, unit, period, no, name),
    foreign key (kind, unit, period, no) references issue.issue
);

create table issue.issued_cell (
    kind text not null,
    unit text not null,
    period text not null,
    no integer not null,
    place integer not null,
    measure text not null,
    month date not null,
    met integer not null,
    known integer not null,
    eligible integer not null,
    value double precision,
    printed text not null,
    basis text not null,
    primary key (kind, unit, period, no, place),
    foreign key (kind, unit, period, no) references issue.issue
);
comment on table issue.issued_cell is 'The figures as they were printed. Restated figures are found against these, never by computing the past again.';

create table issue.issued_signal (
    kind text not null,
    unit text not null,
    period text not null,
    no integer not null,
    place integer not null,
    measure text not null,
    rule text not null,
    month_from date not null,
    month_to date not null,
    direction text not null,
    primary key (kind, unit, period, no, place),
    foreign key (kind, unit, period, no) references issue.issue,
    constraint signal_months_are_in_order check (month_from <= month_to)
);
comment on table issue.issued_signal is 'The signals as they were printed.';

-- +goose Down
drop table issue.issued_signal, issue.issued_cell, issue.file, issue.issue;
