-- +goose Up
-- The highest sequence in which each key was seen, whatever became of it.
-- Without it the current version would depend on the order in which deliveries
-- arrive. Rows are updated in place, hence the room on each page.
create table registry.seen (
    source_no smallint not null,
    key uuid not null,
    sequence bigint not null,
    primary key (source_no, key)
) with (fillfactor = 50);

-- A document is one newborn with all its events. Every version that was ever
-- current is kept: it holds from generation gen_from until before gen_to, so
-- one predicate reads now and then. References to unit, source and generation
-- are kept by the one writer and not by foreign keys, which would cost a look-up
-- a row while loading.
create table registry.document (
    source_no smallint not null,
    key uuid not null,
    gen_from bigint not null,
    gen_to bigint,
    sequence bigint not null,
    digest uuid not null,
    withdrawn boolean not null,
    unit_no smallint not null,
    month date not null
        constraint month_is_a_first_day check (extract(day from month) = 1),
    birth_sequence integer
        constraint birth_sequence_from_1_to_99999 check (birth_sequence between 1 and 99999),
    shift registry.shift,
    place registry.place,
    born_here boolean,
    care_ended registry.care_ended,
    care_ended_min numeric
        constraint care_ended_min_from_0_to_527040 check (care_ended_min between 0 and 527040),
    signs_of_life boolean,
    resuscitation_begun boolean,
    gestation_wk smallint
        constraint gestation_wk_from_20_to_44 check (gestation_wk between 20 and 44),
    gestation_d smallint
        constraint gestation_d_from_0_to_6 check (gestation_d between 0 and 6),
    gestation_basis registry.gestation_basis,
    birth_weight_g smallint
        constraint birth_weight_g_from_200_to_7000 check (birth_weight_g between 200 and 7000),
    sex registry.sex,
    birth_time_unit_s smallint
        constraint birth_time_unit_s_is_1_5_10_30_or_60 check (birth_time_unit_s in (1, 5, 10, 30, 60)),
    birth_set uuid,
    birth_order smallint
        constraint birth_order_from_1_to_9 check (birth_order between 1 and 9),
    placenta registry.placenta,
    mode_of_birth registry.mode_of_birth,
    urgency registry.urgency,
    presentation registry.presentation,
    antenatal_steroids registry.antenatal_steroids,
    major_anomaly registry.major_anomaly[],
    heart_block_known boolean,
    plan_of_care registry.plan_of_care,
    plan_limits registry.plan_limits[],
    decision_awaited_s integer
        constraint decision_awaited_s_from_0_to_86400 check (decision_awaited_s between 0 and 86400),
    exception_reason registry.exception_reason,
    exception_s integer
        constraint exception_s_from_0_to_86400 check (exception_s between 0 and 86400),
    notice_min numeric
        constraint notice_min_from_0_to_10080 check (notice_min between 0 and 10080),
    briefing boolean,
    debriefing boolean,
    newborn_team_at_birth boolean,
    team_called_s integer
        constraint team_called_s_from_minus_86400_to_86400 check (team_called_s between -86400 and 86400),
    team_arrived_s integer
        constraint team_arrived_s_from_minus_86400_to_86400 check (team_arrived_s between -86400 and 86400),
    people_present smallint
        constraint people_present_from_0_to_30 check (people_present between 0 and 30),
    apgar_1 smallint
        constraint apgar_1_from_0_to_10 check (apgar_1 between 0 and 10),
    apgar_5 smallint
        constraint apgar_5_from_0_to_10 check (apgar_5 between 0 and 10),
    apgar_10 smallint
        constraint apgar_10_from_0_to_10 check (apgar_10 between 0 and 10),
    cord_method registry.cord_method,
    cord_exception registry.cord_exception,
    cord_intact_setup registry.cord_intact_setup,
    begun_before_birth boolean,
    support_on_leaving registry.support_on_leaving,
    left_min numeric
        constraint left_min_from_0_to_10080 check (left_min between 0 and 10080),
    admitted boolean,
    admitted_direct boolean,
    arrived_min numeric
        constraint arrived_min_from_0_to_527040 check (arrived_min between 0 and 527040),
    admission_temp_cel numeric
        constraint admission_temp_cel_from_25_to_43 check (admission_temp_cel between 25 and 43),
    temp_min numeric
        constraint temp_min_from_0_to_10080 check (temp_min between 0 and 10080),
    temp_site registry.temp_site,
    cooling_start_min numeric
        constraint cooling_start_min_from_0_to_10080 check (cooling_start_min between 0 and 10080),
    maternal_fever boolean,
    first_ph numeric
        constraint first_ph_from_6_to_8 check (first_ph between 6 and 8),
    cooling_treatment boolean,
    seizures boolean,
    alive_at_d smallint
        constraint alive_at_d_from_0_to_366 check (alive_at_d between 0 and 366),
    air_leak boolean,
    air_leak_min numeric
        constraint air_leak_min_from_0_to_527040 check (air_leak_min between 0 and 527040),
    air_leak_symptomatic boolean,
    air_leak_after_surgery boolean,
    skin_injury_mask registry.skin_injury_mask,
    died_min numeric
        constraint died_min_from_0_to_527040 check (died_min between 0 and 527040),
    died_place registry.died_place,
    charted_assessments boolean
        constraint charted_assessments_is_yes_or_blank check (charted_assessments),
    charted_support boolean
        constraint charted_support_is_yes_or_blank check (charted_support),
    charted_steps boolean
        constraint charted_steps_is_yes_or_blank check (charted_steps),
    charted_airway boolean
        constraint charted_airway_is_yes_or_blank check (charted_airway),
    charted_compressions_drugs boolean
        constraint charted_compressions_drugs_is_yes_or_blank check (charted_compressions_drugs),
    charted_cord boolean
        constraint charted_cord_is_yes_or_blank check (charted_cord),
    charted_temperature boolean
        constraint charted_temperature_is_yes_or_blank check (charted_temperature),
    charted_team boolean
        constraint charted_team_is_yes_or_blank check (charted_team),
    set_aside text[] not null default '{}',
    damaged text[] not null default '{}',
    event_at integer[] not null default '{}',
    event_unit smallint[] not null default '{}',
    event_how smallint[] not null default '{}',
    event_clock smallint[] not null default '{}',
    event_kind smallint[] not null default '{}',
    event_code smallint[] not null default '{}',
    event_value double precision[] not null default '{}',
    event_group integer[] not null default '{}',
    primary key (source_no, key, gen_from),
    constraint version_ends_after_it_begins check (gen_to > gen_from),
    -- Reading them in parallel needs it.
    constraint event_arrays_have_one_length check (
        cardinality(event_at) = cardinality(event_kind) and cardinality(event_unit) = cardinality(event_kind)
        and cardinality(event_how) = cardinality(event_kind) and cardinality(event_clock) = cardinality(event_kind)
        and cardinality(event_code) = cardinality(event_kind) and cardinality(event_value) = cardinality(event_kind)
        and cardinality(event_group) = cardinality(event_kind)),
    -- A source that withdraws a newborn may have no right to the content any more.
    constraint withdrawn_holds_nothing check (not withdrawn or (cardinality(event_kind) = 0 and num_nonnulls(
        birth_sequence, shift, place, born_here, care_ended, care_ended_min, signs_of_life,
        resuscitation_begun, gestation_wk, gestation_d, gestation_basis, birth_weight_g, sex,
        birth_time_unit_s, birth_set, birth_order, placenta, mode_of_birth, urgency, presentation,
        antenatal_steroids, major_anomaly, heart_block_known, plan_of_care, plan_limits,
        decision_awaited_s, exception_reason, exception_s, notice_min, briefing, debriefing,
        newborn_team_at_birth, team_called_s, team_arrived_s, people_present, apgar_1, apgar_5,
        apgar_10, cord_method, cord_exception, cord_intact_setup, begun_before_birth,
        support_on_leaving, left_min, admitted, admitted_direct, arrived_min, admission_temp_cel,
        temp_min, temp_site, cooling_start_min, maternal_fever, first_ph, cooling_treatment,
        seizures, alive_at_d, air_leak, air_leak_min, air_leak_symptomatic, air_leak_after_surgery,
        skin_injury_mask, died_min, died_place, charted_assessments, charted_support, charted_steps,
        charted_airway, charted_compressions_drugs, charted_cord, charted_temperature, charted_team) = 0))
);
create unique index document_current on registry.document (source_no, key) where gen_to is null;
create index document_unit_month on registry.document (unit_no, month);
create index document_closed on registry.document (gen_to) where gen_to is not null;

comment on table registry.document is 'Every version of every newborn with its events. Null: not recorded, or set aside where set_aside names the column.';
comment on column registry.document.gen_to is 'First generation in which this version is no longer current; null: current.';
comment on column registry.document.sequence is 'The source''s sequence of the delivery that brought this version.';
comment on column registry.document.set_aside is 'Columns of which a value was sent that a rule found unusable.';
comment on column registry.document.damaged is 'Sections that lost an event row or a value: a blank in them is never "not done".';
comment on column registry.document.event_at is 'Seconds as typed; null: done, time not recorded.';
comment on column registry.document.event_unit is 'Unit to which the time was taken, in seconds; 0: not stated.';
comment on column registry.document.birth_sequence is 'Order of the birth within unit and month, made by the source; gaps are allowed and printed.';
comment on column registry.document.shift is 'Shift of the birth, made by the source.';
comment on column registry.document.place is 'Place of birth.';
comment on column registry.document.born_here is 'Complete birth inside the buildings of this hospital.';
comment on column registry.document.care_ended is 'How care here ended.';
comment on column registry.document.care_ended_min is 'Minutes from birth to the end of care here. Unit (UCUM): min.';
comment on column registry.document.signs_of_life is 'Any sign of life at birth.';
comment on column registry.document.resuscitation_begun is 'Any resuscitation begun.';
comment on column registry.document.gestation_wk is 'Completed weeks of gestation. Unit (UCUM): wk.';
comment on column registry.document.gestation_d is 'Days beyond the completed weeks; blank: days not known. Unit (UCUM): d.';
comment on column registry.document.gestation_basis is 'How gestation was dated.';
comment on column registry.document.birth_weight_g is 'Birth weight. Unit (UCUM): g.';
comment on column registry.document.sex is 'Sex.';
comment on column registry.document.birth_time_unit_s is 'Unit to which the birth''s own reading was taken: 1, 5, 10, 30 or 60 s. Unit (UCUM): s.';
comment on column registry.document.birth_set is 'Random key shared by the newborns of one multiple birth.';
comment on column registry.document.birth_order is 'Order within a multiple birth.';
comment on column registry.document.placenta is 'Placentas of a multiple birth.';
comment on column registry.document.mode_of_birth is 'Mode of birth.';
comment on column registry.document.urgency is 'Urgency of the birth.';
comment on column registry.document.presentation is 'Presentation.';
comment on column registry.document.antenatal_steroids is 'Antenatal steroids.';
comment on column registry.document.major_anomaly is 'Major anomalies known before birth.';
comment on column registry.document.heart_block_known is 'Heart block known before birth.';
comment on column registry.document.plan_of_care is 'Plan of care agreed before birth.';
comment on column registry.document.plan_limits is 'Steps excluded by an agreed limit.';
comment on column registry.document.decision_awaited_s is 'Seconds from birth to a decision that was awaited. Unit (UCUM): s.';
comment on column registry.document.exception_reason is 'Reason documented at the time for not doing or for delaying a step.';
comment on column registry.document.exception_s is 'Seconds from birth at which the reason was documented. Unit (UCUM): s.';
comment on column registry.document.notice_min is 'Minutes of notice the newborn team had. Unit (UCUM): min.';
comment on column registry.document.briefing is 'Team briefing before the birth.';
comment on column registry.document.debriefing is 'Team debriefing.';
comment on column registry.document.newborn_team_at_birth is 'Someone whose only task was the newborn was present at birth.';
comment on column registry.document.team_called_s is 'Seconds from birth to the call; negative before birth. Unit (UCUM): s.';
comment on column registry.document.team_arrived_s is 'Seconds from birth to the arrival; negative before birth. Unit (UCUM): s.';
comment on column registry.document.people_present is 'People present for the newborn.';
comment on column registry.document.apgar_1 is 'Apgar score at 1 minute. Unit (UCUM): {score}.';
comment on column registry.document.apgar_5 is 'Apgar score at 5 minutes. Unit (UCUM): {score}.';
comment on column registry.document.apgar_10 is 'Apgar score at 10 minutes. Unit (UCUM): {score}.';
comment on column registry.document.cord_method is 'How the cord was managed.';
comment on column registry.document.cord_exception is 'Documented reason for clamping early.';
comment on column registry.document.cord_intact_setup is 'Set-up for help with the cord intact.';
comment on column registry.document.begun_before_birth is 'Ventilation begun with the cord attached before complete birth.';
comment on column registry.document.support_on_leaving is 'Support on leaving the place of birth.';
comment on column registry.document.left_min is 'Minutes from birth to leaving the place of birth. Unit (UCUM): min.';
comment on column registry.document.admitted is 'Admitted to a newborn unit of this hospital.';
comment on column registry.document.admitted_direct is 'Admitted directly from the place of birth.';
comment on column registry.document.arrived_min is 'Minutes from birth to arrival on the unit. Unit (UCUM): min.';
comment on column registry.document.admission_temp_cel is 'First temperature on the unit. Unit (UCUM): Cel.';
comment on column registry.document.temp_min is 'Minutes from birth to that temperature. Unit (UCUM): min.';
comment on column registry.document.temp_site is 'Where that temperature was taken.';
comment on column registry.document.cooling_start_min is 'Minutes from birth to the start of cooling treatment. Unit (UCUM): min.';
comment on column registry.document.maternal_fever is 'Maternal fever in labour.';
comment on column registry.document.first_ph is 'First blood gas pH. Unit (UCUM): [pH].';
comment on column registry.document.cooling_treatment is 'Cooling treatment given.';
comment on column registry.document.seizures is 'Seizures.';
comment on column registry.document.alive_at_d is 'Last day of life on which the newborn was known to be alive. Unit (UCUM): d.';
comment on column registry.document.air_leak is 'Air leak.';
comment on column registry.document.air_leak_min is 'Minutes from birth to the air leak. Unit (UCUM): min.';
comment on column registry.document.air_leak_symptomatic is 'Air leak with symptoms.';
comment on column registry.document.air_leak_after_surgery is 'Air leak after surgery.';
comment on column registry.document.skin_injury_mask is 'Facial skin injury from the mask.';
comment on column registry.document.died_min is 'Minutes from birth to death. Unit (UCUM): min.';
comment on column registry.document.died_place is 'Place of death.';
comment on column registry.document.charted_assessments is 'The source marked the section assessments as filled in.';
comment on column registry.document.charted_support is 'The source marked the section support as filled in.';
comment on column registry.document.charted_steps is 'The source marked the section steps as filled in.';
comment on column registry.document.charted_airway is 'The source marked the section airway as filled in.';
comment on column registry.document.charted_compressions_drugs is 'The source marked the section compressions and drugs as filled in.';
comment on column registry.document.charted_cord is 'The source marked the section cord as filled in.';
comment on column registry.document.charted_temperature is 'The source marked the section temperature as filled in.';
comment on column registry.document.charted_team is 'The source marked the section team as filled in.';

-- One source owns a unit's month: two sources that both send it would count
-- newborns twice, and random keys make the duplicates undetectable.
create table registry.unit_month (
    unit_no smallint not null references registry.unit,
    month date not null constraint unit_month_is_a_first_day check (extract(day from month) = 1),
    source_no smallint not null references registry.source,
    changed bigint not null default 0,
    primary key (unit_no, month)
);
comment on column registry.unit_month.changed is 'Newest generation in which a version of one of its documents was opened or closed: cells of an earlier one are stale.';
comment on table registry.unit_month is 'Every month of a unit that ever held a document, and the source that owns it.';

create view registry.event as
select d.source_no, d.key, d.gen_from, d.gen_to, e.row_no, e.at_s, c.word as clock, nullif(h.word, '') as how,
    nullif(e.time_unit_s, 0) as time_unit_s, w.kind, w.code, e.value, e.group_no
from registry.document d
cross join lateral unnest(d.event_at, d.event_unit, d.event_how, d.event_clock, d.event_kind, d.event_code,
    d.event_value, d.event_group) with ordinality e (at_s, time_unit_s, how_no, clock_no, kind_no, code_no, value, group_no, row_no)
left join registry.event_word w on w.kind_no = e.kind_no and w.code_no = e.code_no
left join registry.time_word c on c.list = 'clock' and c.no = e.clock_no
left join registry.time_word h on h.list = 'how' and h.no = e.how_no;
comment on view registry.event is 'The events of every version in words, a row an event.';

-- +goose Down
drop view registry.event;
drop table registry.unit_month, registry.document, registry.seen;
