-- +goose Up
create schema registry;
create schema ledger;
create schema measure;
create schema issue;

-- One type a code list, labels in the order of the dictionary. A list that a
-- document and the facts share is one type, so that a code cannot change its
-- meaning on the way, and a word that is not in the list is an error with a
-- position instead of a condition that is never true.
create type registry.shift as enum ('day', 'night', 'weekend-day', 'weekend-night');
create type registry.place as enum ('planned-birth-room', 'other-birth-room', 'elsewhere-in-hospital', 'outside');
create type registry.care_ended as enum ('stayed', 'moved', 'died');
create type registry.gestation_basis as enum ('early-ultrasound', 'other', 'unknown');
create type registry.sex as enum ('female', 'male', 'not-determined');
create type registry.placenta as enum ('one', 'separate', 'unknown');
create type registry.mode_of_birth as enum ('spontaneous', 'assisted', 'caesarean');
create type registry.urgency as enum ('planned', 'unplanned', 'emergency');
create type registry.presentation as enum ('head', 'breech', 'other');
create type registry.antenatal_steroids as enum ('none', 'partial', 'full');
create type registry.major_anomaly as enum ('none', 'diaphragmatic-hernia', 'airway', 'heart', 'other');
create type registry.plan_of_care as enum ('full', 'limits-agreed', 'comfort');
create type registry.plan_limits as enum ('compressions', 'drugs', 'airway');
create type registry.exception_reason as enum ('decision-awaited', 'limit-agreed', 'other');
create type registry.cord_method as enum ('clamped', 'milked-intact', 'milked-cut', 'by-signs');
create type registry.cord_exception as enum ('help-needed-no-setup', 'abruption-or-previa', 'cord-accident', 'one-placenta', 'other');
create type registry.cord_intact_setup as enum ('available', 'used', 'none');
create type registry.support_on_leaving as enum ('none', 'oxygen', 'high-flow', 'cpap', 'ppv-mask', 'supraglottic', 'tube');
create type registry.temp_site as enum ('axilla', 'rectum', 'skin', 'ear', 'other');
create type registry.skin_injury_mask as enum ('none', 'redness', 'broken-skin');
create type registry.died_place as enum ('birth', 'unit', 'elsewhere');

-- The lists of the derived facts. Tube, compressions and ventilated share one.
create type registry.yes_no_later as enum ('yes', 'no', 'later');
create type registry.device as enum ('self-inflating', 'flow-inflating', 't-piece', 'ventilator');
create type registry.interface as enum ('mask', 'nasal', 'supraglottic', 'tube');
create type registry.gestation_band as enum ('22-24', '25-27', '28-31', '32-33', '34-36', '37-plus', 'unknown');
create type registry.need as enum ('yes', 'no', 'presumed');
create type registry.hr_at_start as enum ('below-100', '100-or-more');
create type registry.first_end as enum ('heart-rate-100', 'heart-rate-rise', 'chest-movement', 'exhaled-co2', 'airway-attempt', 'compressions', 'drug', 'stopped', 'died', 'observation-end', 'undecided');
create type registry.supported as enum ('yes', 'no', 'later');
create type registry.first_check as enum ('failed', 'passed', 'ended');
create type registry.airway_reason as enum ('mask-ventilation-failing', 'surfactant', 'transport-or-surgery', 'first-interface', 'other');
create type registry.chest_before_airway as enum ('moving', 'not-moving', 'none');
create type registry.tube_reason as enum ('mask-ventilation-failing', 'surfactant', 'transport-or-surgery', 'first-interface', 'other');
create type registry.cord_excepted as enum ('help-needed-no-setup', 'abruption-or-previa', 'cord-accident', 'one-placenta');

-- Events are stored as parallel arrays of small numbers, a third of the size of
-- labels. These tables say what the numbers mean; the view registry.event reads
-- them out.
create table registry.event_word (
    kind_no smallint not null,
    kind text not null,
    code_no smallint not null,
    code text,
    primary key (kind_no, code_no),
    constraint only_number_zero_has_no_code check ((code is null) = (code_no = 0))
);
comment on table registry.event_word is 'The kinds of events and the codes of each. Code 0: the row carries no code.';
insert into registry.event_word (kind_no, kind, code_no, code) values
    (1, 'heart-rate', 0, null),
    (1, 'heart-rate', 1, 'auscultation'),
    (1, 'heart-rate', 2, 'palpation'),
    (1, 'heart-rate', 3, 'oximeter'),
    (1, 'heart-rate', 4, 'ecg'),
    (1, 'heart-rate', 5, 'absent'),
    (1, 'heart-rate', 6, 'below-60'),
    (1, 'heart-rate', 7, '60-to-99'),
    (1, 'heart-rate', 8, '100-or-more'),
    (1, 'heart-rate', 9, 'no-reading'),
    (2, 'monitor-on', 1, 'oximeter'),
    (2, 'monitor-on', 2, 'ecg'),
    (3, 'saturation', 1, 'reading'),
    (3, 'saturation', 2, 'no-reading'),
    (4, 'oxygen', 1, 'set'),
    (5, 'breathing', 1, 'none'),
    (5, 'breathing', 2, 'gasping'),
    (5, 'breathing', 3, 'breathing'),
    (5, 'breathing', 4, 'crying'),
    (6, 'chest-movement', 1, 'moving'),
    (6, 'chest-movement', 2, 'not-moving'),
    (7, 'exhaled-co2', 1, 'detected'),
    (7, 'exhaled-co2', 2, 'not-detected'),
    (8, 'support-begun', 1, 'cpap'),
    (8, 'support-begun', 2, 'ppv'),
    (8, 'support-begun', 3, 'free-flow'),
    (9, 'support-ended', 1, 'cpap'),
    (9, 'support-ended', 2, 'ppv'),
    (9, 'support-ended', 3, 'free-flow'),
    (10, 'corrective-step', 1, 'airway-clearing'),
    (10, 'corrective-step', 2, 'head-position'),
    (10, 'corrective-step', 3, 'mask-seal'),
    (10, 'corrective-step', 4, 'mouth-opening'),
    (10, 'corrective-step', 5, 'pressure'),
    (11, 'airway-attempt-begun', 1, 'tube'),
    (11, 'airway-attempt-begun', 2, 'supraglottic'),
    (12, 'airway-attempt-ended', 1, 'tube'),
    (12, 'airway-attempt-ended', 2, 'supraglottic'),
    (13, 'compressions-begun', 0, null),
    (14, 'compressions-ended', 0, null),
    (15, 'dose', 1, 'epinephrine-iv'),
    (15, 'dose', 2, 'epinephrine-tracheal'),
    (15, 'dose', 3, 'volume'),
    (15, 'dose', 4, 'other'),
    (16, 'cord-clamped', 0, null),
    (17, 'thermal-step', 1, 'plastic-wrap'),
    (17, 'thermal-step', 2, 'mattress'),
    (17, 'thermal-step', 3, 'hat'),
    (17, 'thermal-step', 4, 'skin-to-skin'),
    (17, 'thermal-step', 5, 'warm-gas'),
    (17, 'thermal-step', 6, 'dried'),
    (18, 'stimulated', 1, 'drying'),
    (18, 'stimulated', 2, 'rubbing'),
    (18, 'stimulated', 3, 'suction-only'),
    (19, 'later-resuscitation', 0, null),
    (20, 'device', 1, 'self-inflating'),
    (20, 'device', 2, 'flow-inflating'),
    (20, 'device', 3, 't-piece'),
    (20, 'device', 4, 'ventilator'),
    (21, 'device-not-kept-here', 1, 'self-inflating'),
    (21, 'device-not-kept-here', 2, 'flow-inflating'),
    (21, 'device-not-kept-here', 3, 't-piece'),
    (21, 'device-not-kept-here', 4, 'ventilator'),
    (22, 'gas-failure', 0, null),
    (23, 'interface', 1, 'mask'),
    (23, 'interface', 2, 'nasal'),
    (23, 'interface', 3, 'supraglottic'),
    (23, 'interface', 4, 'tube'),
    (24, 'mask-size', 0, null),
    (25, 'pip', 0, null),
    (26, 'peep', 0, null),
    (27, 'rate', 0, null),
    (28, 'reason', 1, 'mask-ventilation-failing'),
    (28, 'reason', 2, 'surfactant'),
    (28, 'reason', 3, 'transport-or-surgery'),
    (28, 'reason', 4, 'first-interface'),
    (28, 'reason', 5, 'other'),
    (29, 'operator', 1, 'consultant'),
    (29, 'operator', 2, 'fellow'),
    (29, 'operator', 3, 'resident'),
    (29, 'operator', 4, 'nurse-practitioner'),
    (29, 'operator', 5, 'nurse'),
    (29, 'operator', 6, 'midwife'),
    (29, 'operator', 7, 'paramedic'),
    (29, 'operator', 8, 'other'),
    (30, 'scope', 1, 'video'),
    (30, 'scope', 2, 'direct'),
    (31, 'tube-size', 0, null),
    (32, 'depth', 0, null),
    (33, 'outcome', 1, 'placed'),
    (33, 'outcome', 2, 'failed'),
    (33, 'outcome', 3, 'dislodged'),
    (34, 'confirmed', 1, 'co2'),
    (34, 'confirmed', 2, 'other');

create table registry.time_word (
    list text not null constraint list_is_clock_or_how check (list in ('clock', 'how')),
    no smallint not null,
    word text not null,
    primary key (list, no)
);
comment on table registry.time_word is 'Whose zero an event''s seconds count from, and how its time was taken.';
insert into registry.time_word (list, no, word) values
    ('clock', 0, 'unknown'), ('clock', 1, 'birth'), ('clock', 2, 'warmer'), ('clock', 3, 'sheet'),
    ('how', 0, ''), ('how', 1, 'device'), ('how', 2, 'video'), ('how', 3, 'live'), ('how', 4, 'after');

create table registry.unit (
    no smallint primary key,
    code text not null unique constraint unit_has_a_code check (code <> '')
);
create table registry.source (
    no smallint primary key,
    code text not null unique constraint source_has_a_code check (code <> '')
);
comment on table registry.unit is 'Units by number: documents hold the number, people the code.';

-- +goose Down
drop table registry.source, registry.unit, registry.time_word, registry.event_word;
drop type
    registry.shift,
    registry.place,
    registry.care_ended,
    registry.gestation_basis,
    registry.sex,
    registry.placenta,
    registry.mode_of_birth,
    registry.urgency,
    registry.presentation,
    registry.antenatal_steroids,
    registry.major_anomaly,
    registry.plan_of_care,
    registry.plan_limits,
    registry.exception_reason,
    registry.cord_method,
    registry.cord_exception,
    registry.cord_intact_setup,
    registry.support_on_leaving,
    registry.temp_site,
    registry.skin_injury_mask,
    registry.died_place,
    registry.yes_no_later,
    registry.device,
    registry.interface,
    registry.gestation_band,
    registry.need,
    registry.hr_at_start,
    registry.first_end,
    registry.supported,
    registry.first_check,
    registry.airway_reason,
    registry.chest_before_airway,
    registry.tube_reason,
    registry.cord_excepted;
drop schema issue;
drop schema measure;
drop schema ledger;
drop schema registry;
