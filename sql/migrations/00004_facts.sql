-- +goose Up
-- What the measures read, derived from a document. A version of the facts has
-- its own validity, because a new derivation replaces facts whose document has
-- not changed. A withdrawn newborn has none.
create table registry.facts (
    source_no smallint not null,
    key uuid not null,
    gen_from bigint not null,
    gen_to bigint,
    derivation smallint not null,
    unit_no smallint not null,
    month date not null,
    birth_sequence integer,
    shift registry.shift,
    place registry.place,
    born_here boolean,
    care_ended registry.care_ended,
    care_ended_min numeric,
    signs_of_life boolean,
    gestation_wk smallint,
    gestation_d smallint,
    birth_weight_g smallint,
    sex registry.sex,
    placenta registry.placenta,
    mode_of_birth registry.mode_of_birth,
    urgency registry.urgency,
    presentation registry.presentation,
    antenatal_steroids registry.antenatal_steroids,
    heart_block_known boolean,
    plan_of_care registry.plan_of_care,
    decision_awaited_s integer,
    exception_reason registry.exception_reason,
    exception_s integer,
    notice_min numeric,
    briefing boolean,
    debriefing boolean,
    newborn_team_at_birth boolean,
    apgar_1 smallint,
    apgar_5 smallint,
    cord_method registry.cord_method,
    cord_exception registry.cord_exception,
    cord_intact_setup registry.cord_intact_setup,
    begun_before_birth boolean,
    support_on_leaving registry.support_on_leaving,
    left_min numeric,
    admitted boolean,
    admitted_direct boolean,
    arrived_min numeric,
    admission_temp_cel numeric,
    temp_min numeric,
    temp_site registry.temp_site,
    cooling_start_min numeric,
    maternal_fever boolean,
    air_leak boolean,
    air_leak_min numeric,
    air_leak_symptomatic boolean,
    air_leak_after_surgery boolean,
    skin_injury_mask registry.skin_injury_mask,
    died_min numeric,
    died_place registry.died_place,
    in_population boolean,
    gestation_band registry.gestation_band,
    multiple boolean,
    attended boolean,
    anomaly_hernia boolean,
    anomaly_airway boolean,
    anomaly_heart boolean,
    limit_compressions boolean,
    limit_drugs boolean,
    limit_airway boolean,
    comfort_only boolean,
    need registry.need,
    secondary_need boolean,
    ventilated registry.yes_no_later,
    first_interface registry.interface,
    first_device registry.device,
    first_inflation_lo numeric
        constraint first_inflation_lo_from_minus_3600_to_86400 check (first_inflation_lo between -3600 and 86400),
    first_inflation_hi numeric
        constraint first_inflation_hi_from_minus_3600_to_86400 check (first_inflation_hi between -3600 and 86400),
    hr_at_start registry.hr_at_start,
    hr_at_start_value smallint
        constraint hr_at_start_value_from_0_to_300 check (hr_at_start_value between 0 and 300),
    first_end registry.first_end,
    effective boolean,
    to_first_end_lo numeric
        constraint to_first_end_lo_from_0_to_86400 check (to_first_end_lo between 0 and 86400),
    to_first_end_hi numeric
        constraint to_first_end_hi_from_0_to_86400 check (to_first_end_hi between 0 and 86400),
    first_end_lo numeric
        constraint first_end_lo_from_minus_3600_to_86400 check (first_end_lo between -3600 and 86400),
    first_end_hi numeric
        constraint first_end_hi_from_minus_3600_to_86400 check (first_end_hi between -3600 and 86400),
    to_sign_lo numeric
        constraint to_sign_lo_from_0_to_86400 check (to_sign_lo between 0 and 86400),
    to_sign_hi numeric
        constraint to_sign_hi_from_0_to_86400 check (to_sign_hi between 0 and 86400),
    sign_lo numeric
        constraint sign_lo_from_minus_3600_to_86400 check (sign_lo between -3600 and 86400),
    sign_hi numeric
        constraint sign_hi_from_minus_3600_to_86400 check (sign_hi between -3600 and 86400),
    mask_ventilated boolean,
    any_step boolean,
    step_count smallint
        constraint step_count_from_0_to_99 check (step_count between 0 and 99),
    tube registry.yes_no_later,
    compressions registry.yes_no_later,
    later_resuscitation boolean,
    temp_late boolean,
    order_loose boolean,
    supported registry.supported,
    first_support_lo numeric
        constraint first_support_lo_from_minus_3600_to_86400 check (first_support_lo between -3600 and 86400),
    first_support_hi numeric
        constraint first_support_hi_from_minus_3600_to_86400 check (first_support_hi between -3600 and 86400),
    heart_rate_known boolean,
    heart_rate_lo numeric
        constraint heart_rate_lo_from_minus_3600_to_86400 check (heart_rate_lo between -3600 and 86400),
    heart_rate_hi numeric
        constraint heart_rate_hi_from_minus_3600_to_86400 check (heart_rate_hi between -3600 and 86400),
    stretch_lo numeric
        constraint stretch_lo_from_0_to_86400 check (stretch_lo between 0 and 86400),
    stretch_hi numeric
        constraint stretch_hi_from_0_to_86400 check (stretch_hi between 0 and 86400),
    heart_rate_rechecked boolean,
    to_recheck_lo numeric
        constraint to_recheck_lo_from_0_to_86400 check (to_recheck_lo between 0 and 86400),
    to_recheck_hi numeric
        constraint to_recheck_hi_from_0_to_86400 check (to_recheck_hi between 0 and 86400),
    rose_to_100 boolean,
    to_100_lo numeric
        constraint to_100_lo_from_0_to_86400 check (to_100_lo between 0 and 86400),
    to_100_hi numeric
        constraint to_100_hi_from_0_to_86400 check (to_100_hi between 0 and 86400),
    first_check registry.first_check,
    step_when_needed boolean,
    to_step_lo numeric
        constraint to_step_lo_from_minus_60_to_86400 check (to_step_lo between -60 and 86400),
    to_step_hi numeric
        constraint to_step_hi_from_minus_60_to_86400 check (to_step_hi between -60 and 86400),
    airway_reason registry.airway_reason,
    chest_before_airway registry.chest_before_airway,
    basic_steps boolean,
    basic_steps_required smallint
        constraint basic_steps_required_from_3_to_4 check (basic_steps_required between 3 and 4),
    basic_steps_on_record smallint
        constraint basic_steps_on_record_from_0_to_4 check (basic_steps_on_record between 0 and 4),
    pressure_device_not_kept boolean,
    gas_failure boolean,
    starting_oxygen_pct numeric
        constraint starting_oxygen_pct_from_21_to_100 check (starting_oxygen_pct between 21 and 100),
    compressions_before_oxygen boolean,
    oximeter_in_time boolean,
    oximeter_lo numeric
        constraint oximeter_lo_from_minus_3600_to_86400 check (oximeter_lo between -3600 and 86400),
    oximeter_hi numeric
        constraint oximeter_hi_from_minus_3600_to_86400 check (oximeter_hi between -3600 and 86400),
    to_oximeter_lo numeric
        constraint to_oximeter_lo_from_minus_86400_to_86400 check (to_oximeter_lo between -86400 and 86400),
    to_oximeter_hi numeric
        constraint to_oximeter_hi_from_minus_86400_to_86400 check (to_oximeter_hi between -86400 and 86400),
    spo2_at_5_min numeric
        constraint spo2_at_5_min_from_0_to_100 check (spo2_at_5_min between 0 and 100),
    spo2_at_10_min numeric
        constraint spo2_at_10_min_from_0_to_100 check (spo2_at_10_min between 0 and 100),
    on_oxygen_at_10_min boolean,
    ecg_used boolean,
    ppv_total_lo numeric
        constraint ppv_total_lo_from_0_to_86400 check (ppv_total_lo between 0 and 86400),
    ppv_total_hi numeric
        constraint ppv_total_hi_from_0_to_86400 check (ppv_total_hi between 0 and 86400),
    tube_reason registry.tube_reason,
    tube_attempts smallint
        constraint tube_attempts_from_0_to_30 check (tube_attempts between 0 and 30),
    first_tube_placed boolean,
    longest_attempt_lo numeric
        constraint longest_attempt_lo_from_0_to_86400 check (longest_attempt_lo between 0 and 86400),
    longest_attempt_hi numeric
        constraint longest_attempt_hi_from_0_to_86400 check (longest_attempt_hi between 0 and 86400),
    saturation_fall numeric
        constraint saturation_fall_from_minus_100_to_100 check (saturation_fall between -100 and 100),
    supraglottic_before_second_tube boolean,
    cpap_given boolean,
    tube_before_leaving boolean,
    clamp_lo numeric
        constraint clamp_lo_from_minus_3600_to_86400 check (clamp_lo between -3600 and 86400),
    clamp_hi numeric
        constraint clamp_hi_from_minus_3600_to_86400 check (clamp_hi between -3600 and 86400),
    cord_excepted registry.cord_excepted,
    primary key (source_no, key, gen_from),
    constraint facts_end_after_they_begin check (gen_to > gen_from),
    -- A time is an interval. Either end may be blank: what is known of an untimed row
    -- is often only that it came before or after another.
    constraint first_inflation_ends_in_order check (first_inflation_lo <= first_inflation_hi),
    constraint to_first_end_ends_in_order check (to_first_end_lo <= to_first_end_hi),
    constraint first_end_ends_in_order check (first_end_lo <= first_end_hi),
    constraint to_sign_ends_in_order check (to_sign_lo <= to_sign_hi),
    constraint sign_ends_in_order check (sign_lo <= sign_hi),
    constraint first_support_ends_in_order check (first_support_lo <= first_support_hi),
    constraint heart_rate_ends_in_order check (heart_rate_lo <= heart_rate_hi),
    constraint stretch_ends_in_order check (stretch_lo <= stretch_hi),
    constraint to_recheck_ends_in_order check (to_recheck_lo <= to_recheck_hi),
    constraint to_100_ends_in_order check (to_100_lo <= to_100_hi),
    constraint to_step_ends_in_order check (to_step_lo <= to_step_hi),
    constraint oximeter_ends_in_order check (oximeter_lo <= oximeter_hi),
    constraint to_oximeter_ends_in_order check (to_oximeter_lo <= to_oximeter_hi),
    constraint ppv_total_ends_in_order check (ppv_total_lo <= ppv_total_hi),
    constraint longest_attempt_ends_in_order check (longest_attempt_lo <= longest_attempt_hi),
    constraint clamp_ends_in_order check (clamp_lo <= clamp_hi)
);
create unique index facts_current on registry.facts (source_no, key) where gen_to is null;
create index facts_unit_month on registry.facts (unit_no, month);
comment on table registry.facts is 'What the measures read, derived from the document of the same key. Null: not recorded, not applicable or set aside.';
comment on column registry.facts.derivation is 'Version of the derivation that made these facts.';
comment on column registry.facts.in_population is 'Any sign of life or any resuscitation begun, born in this hospital, at 22 weeks or more, or gestation unknown with a weight of 500 g or more or unknown. Blank: cannot be told.';
comment on column registry.facts.gestation_band is 'Band of completed weeks. Blank: under 22 weeks.';
comment on column registry.facts.multiple is 'From a multiple birth. Blank: neither a set of siblings nor an order of birth is recorded.';
comment on column registry.facts.attended is 'Someone whose only task was the newborn was present by five minutes. Blank: not recorded.';
comment on column registry.facts.anomaly_hernia is 'Diaphragmatic hernia known before birth. Blank: not recorded.';
comment on column registry.facts.anomaly_airway is 'Airway anomaly known before birth. Blank: not recorded.';
comment on column registry.facts.anomaly_heart is 'Heart anomaly known before birth. Blank: not recorded.';
comment on column registry.facts.limit_compressions is 'A limit agreed before birth excludes compressions. Blank: not recorded.';
comment on column registry.facts.limit_drugs is 'A limit agreed before birth excludes drugs. Blank: not recorded.';
comment on column registry.facts.limit_airway is 'A limit agreed before birth excludes an airway attempt. Blank: not recorded.';
comment on column registry.facts.comfort_only is 'Comfort care was planned or decided and no ventilation, CPAP, airway attempt, compressions or drug was given. Blank: cannot be told.';
comment on column registry.facts.need is 'Need of ventilation at one minute, judged at the first inflation or at 60 s, whichever came first. Presumed: ventilated by 60 s with neither breathing nor heart rate recorded before. Blank: cannot be told.';
comment on column registry.facts.secondary_need is 'First ventilated after 60 s although there was no need at one minute. Blank: cannot be told.';
comment on column registry.facts.ventilated is 'At least one inflation begun within 20 minutes of birth in this hospital; later: first inflation after that. Blank: cannot be told.';
comment on column registry.facts.first_interface is 'Interface of the first inflation. Blank: not recorded.';
comment on column registry.facts.first_device is 'Device of the first inflation. Blank: not recorded.';
comment on column registry.facts.first_inflation_lo is 'Earliest possible time of the first inflation, seconds from complete birth. Blank: no clock that starts at birth, or no time. Unit (UCUM): s.';
comment on column registry.facts.first_inflation_hi is 'Latest possible time of the first inflation, seconds from complete birth. Blank: no clock that starts at birth, or no time. Unit (UCUM): s.';
comment on column registry.facts.hr_at_start is 'Heart rate when ventilation started: the last from 30 s before to the first inflation, else the first up to 10 s after, else below 100 if the first up to 120 s after is. Blank: cannot be told.';
comment on column registry.facts.hr_at_start_value is 'Heart rate when ventilation started, where one value is known. Blank: only a band, or not known. Unit (UCUM): /min.';
comment on column registry.facts.first_end is 'What came first after the first inflation: a recorded sign of effective ventilation, or an end that competes with it. Undecided: the times as recorded allow more than one; where all of those are signs, the one listed first is named. Blank: cannot be told.';
comment on column registry.facts.effective is 'The first end is a sign of effective ventilation. Blank: cannot be told or undecided.';
comment on column registry.facts.to_first_end_lo is 'Shortest time from the first inflation to the first end. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_first_end_hi is 'Longest time from the first inflation to the first end. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.first_end_lo is 'Earliest possible time of the first end, seconds from complete birth. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.first_end_hi is 'Latest possible time of the first end, seconds from complete birth. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_sign_lo is 'Shortest possible time from the first inflation to a first end that is a sign. Blank: no sign possible, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_sign_hi is 'Longest possible time from the first inflation to the sign. Blank: it is possible that no sign came first. Unit (UCUM): s.';
comment on column registry.facts.sign_lo is 'Earliest possible time of a first end that is a sign, seconds from complete birth. Blank: no sign possible, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.sign_hi is 'Latest possible time of the sign, seconds from complete birth. Blank: it is possible that no sign came first, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.mask_ventilated is 'Ventilated by mask or nasal interface within 20 minutes of birth. Blank: cannot be told.';
comment on column registry.facts.any_step is 'Any corrective step on record from the first inflation to the first airway attempt. No: none on record in a section marked as charted. Blank: cannot be told.';
comment on column registry.facts.step_count is 'Corrective steps on record from the first inflation to the first airway attempt, in a section marked as charted. Blank: cannot be told.';
comment on column registry.facts.tube is 'Tube placed or attempted: yes within 15 minutes of birth in any place, later, or no. Blank: cannot be told or undecided.';
comment on column registry.facts.compressions is 'Compressions begun: yes within 20 minutes of birth in this hospital, later, or no. Blank: cannot be told or undecided.';
comment on column registry.facts.later_resuscitation is 'Resuscitated later than 20 minutes after birth. Blank: cannot be told.';
comment on column registry.facts.temp_late is 'The first temperature was taken more than 15 minutes after arrival.';
comment on column registry.facts.order_loose is 'The recorded times allow more orders of events than are tried: what rests on them is blank.';
comment on column registry.facts.supported is 'CPAP, ventilation, free-flow oxygen or compressions begun within 20 minutes of birth; later: only after that. Blank: cannot be told.';
comment on column registry.facts.first_support_lo is 'Earliest possible time of the first support, seconds from complete birth. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.first_support_hi is 'Latest possible time of the first support, seconds from complete birth. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.heart_rate_known is 'A heart rate on record: a value, a band or absent. No: none in a section marked as charted. Blank: cannot be told.';
comment on column registry.facts.heart_rate_lo is 'Earliest possible time of the first heart rate on record, seconds from complete birth. Blank: none, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.heart_rate_hi is 'Latest possible time of the first heart rate on record, seconds from complete birth. Blank: none, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.stretch_lo is 'Shortest time from the first inflation to the end of ventilation or the first airway attempt. Longest blank: no end on record. Shortest blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.stretch_hi is 'Longest time from the first inflation to the end of ventilation or the first airway attempt. Longest blank: no end on record. Shortest blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.heart_rate_rechecked is 'A heart rate on record from 15 to 45 s after the first inflation. No: none in a section marked as charted, or the next one later. Blank: cannot be told or undecided.';
comment on column registry.facts.to_recheck_lo is 'Shortest time from the first inflation to the first heart rate 15 s or more after it. Blank: none, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_recheck_hi is 'Longest time from the first inflation to the first heart rate 15 s or more after it. Blank: none, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.rose_to_100 is 'A heart rate of 100 or more on record after the first inflation and before any tube. No: looked at, and none. Blank: cannot be told or undecided.';
comment on column registry.facts.to_100_lo is 'Shortest time from the first inflation to that heart rate. Longest blank: it is possible that there is none. Shortest blank: there is none. Unit (UCUM): s.';
comment on column registry.facts.to_100_hi is 'Longest time from the first inflation to that heart rate. Longest blank: it is possible that there is none. Shortest blank: there is none. Unit (UCUM): s.';
comment on column registry.facts.first_check is 'First check of ventilation, 5 to 60 s after the first inflation: chest movement, or heart rate from 15 s. Ended: ventilation ended or an airway attempt began before a record decided. Blank: cannot be told.';
comment on column registry.facts.step_when_needed is 'A corrective step on record from 5 s before to 30 s after a failed first check. No: none in a section marked as charted. Blank: cannot be told.';
comment on column registry.facts.to_step_lo is 'Shortest time from the failed first check to that step; negative where the step came before. Blank: no step, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_step_hi is 'Longest time from the failed first check to that step; negative where the step came before. Blank: no step, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.airway_reason is 'Reason of the first airway attempt within 15 minutes of birth. Blank: none, not recorded or cannot be told.';
comment on column registry.facts.chest_before_airway is 'Last record of chest movement from the first inflation to the first airway attempt. Blank: cannot be told.';
comment on column registry.facts.basic_steps is 'All required basic steps are on record before the first airway attempt made because mask ventilation was failing with the chest not recorded as moving: head position, mask seal, clearing or mouth opening, and pressure where the chest was still recorded not moving after those. Blank: cannot be told.';
comment on column registry.facts.basic_steps_required is 'How many basic steps were required. Blank: cannot be told.';
comment on column registry.facts.basic_steps_on_record is 'How many of those required are on record. Blank: cannot be told.';
comment on column registry.facts.pressure_device_not_kept is 'The place keeps neither a T-piece nor a flow-inflating device. Blank: not said.';
comment on column registry.facts.gas_failure is 'A failing gas supply is on record within 20 minutes of birth. Blank: none on record.';
comment on column registry.facts.starting_oxygen_pct is 'Oxygen when ventilation or CPAP began: the last set at most 60 s before, else the first set at most 30 s after. Blank: not recorded or undecided. Unit (UCUM): %.';
comment on column registry.facts.compressions_before_oxygen is 'Compressions began before oxygen was first set. Blank: cannot be told.';
comment on column registry.facts.oximeter_in_time is 'First oximeter reading by 120 s where support began by 60 s, else by 60 s after support began. No: later, or none in a section marked as charted. Blank: cannot be told or undecided.';
comment on column registry.facts.oximeter_lo is 'Earliest possible time of the first oximeter reading, seconds from complete birth. Blank: none, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.oximeter_hi is 'Latest possible time of the first oximeter reading, seconds from complete birth. Blank: none, or cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_oximeter_lo is 'Shortest time from the first support to the first oximeter reading; negative where the reading came first. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.to_oximeter_hi is 'Longest time from the first support to the first oximeter reading; negative where the reading came first. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.spo2_at_5_min is 'Saturation nearest to 5:00, from 4:30 to 5:30. Blank: none or undecided. Unit (UCUM): %.';
comment on column registry.facts.spo2_at_10_min is 'Saturation nearest to 10:00, from 9:30 to 10:30. Blank: none or undecided. Unit (UCUM): %.';
comment on column registry.facts.on_oxygen_at_10_min is 'More than 21 % oxygen at that saturation reading, or at 10:00 where there is none. Blank: cannot be told.';
comment on column registry.facts.ecg_used is 'ECG leads on or an ECG heart rate on record within 20 minutes of birth. No: none in a section marked as charted. Blank: cannot be told.';
comment on column registry.facts.ppv_total_lo is 'Shortest possible length of all ventilation within 20 minutes of birth, added up. Longest blank: an end is not on record. Shortest blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.ppv_total_hi is 'Longest possible length of all ventilation within 20 minutes of birth, added up. Longest blank: an end is not on record. Shortest blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.tube_reason is 'Reason of the first tube attempt within 15 minutes of birth. Blank: not recorded.';
comment on column registry.facts.tube_attempts is 'Tube attempts begun within 15 minutes of birth, up to the first one placed. Blank: cannot be told.';
comment on column registry.facts.first_tube_placed is 'The first tube attempt ended with the tube placed. Blank: outcome not recorded.';
comment on column registry.facts.longest_attempt_lo is 'Shortest possible length of the longest attempt of that series, blade in to blade out. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.longest_attempt_hi is 'Longest possible length of the longest attempt of that series, blade in to blade out. Blank: cannot be told. Unit (UCUM): s.';
comment on column registry.facts.saturation_fall is 'Largest fall of saturation at an attempt of that series: highest in the 60 s before the blade minus lowest from blade in to 60 s after blade out. Blank: cannot be told. Unit (UCUM): %.';
comment on column registry.facts.supraglottic_before_second_tube is 'Where mask ventilation was failing and a supraglottic airway was tried or a tube attempt failed: the supraglottic airway was tried before a second tube attempt. Blank: cannot be told.';
comment on column registry.facts.cpap_given is 'CPAP begun within 20 minutes of birth. Blank: cannot be told.';
comment on column registry.facts.tube_before_leaving is 'Tube placed or attempted within 15 minutes of birth or before leaving the place of birth, whichever is later. Blank: cannot be told.';
comment on column registry.facts.clamp_lo is 'Earliest possible time at which the cord was clamped or cut, seconds from complete birth. Blank: not recorded, or no clock that starts at birth. Unit (UCUM): s.';
comment on column registry.facts.clamp_hi is 'Latest possible time at which the cord was clamped or cut, seconds from complete birth. Blank: not recorded, or no clock that starts at birth. Unit (UCUM): s.';
comment on column registry.facts.cord_excepted is 'Documented exception from deferred clamping: the reason for help does not count where the cord-intact set-up was used, one placenta counts as recorded on either field. Blank: none.';

-- What a condition of a measure sees. Whole numbers become numeric: products of
-- small integers overflow while rows are read, without a position, and integer
-- division cuts off silently.
create view registry.measurable as
select source_no, key, gen_from, gen_to, unit_no, month,
    birth_sequence::numeric as birth_sequence,
    shift,
    place,
    born_here,
    care_ended,
    care_ended_min,
    signs_of_life,
    gestation_wk::numeric as gestation_wk,
    gestation_d::numeric as gestation_d,
    birth_weight_g::numeric as birth_weight_g,
    sex,
    placenta,
    mode_of_birth,
    urgency,
    presentation,
    antenatal_steroids,
    heart_block_known,
    plan_of_care,
    decision_awaited_s::numeric as decision_awaited_s,
    exception_reason,
    exception_s::numeric as exception_s,
    notice_min,
    briefing,
    debriefing,
    newborn_team_at_birth,
    apgar_1::numeric as apgar_1,
    apgar_5::numeric as apgar_5,
    cord_method,
    cord_exception,
    cord_intact_setup,
    begun_before_birth,
    support_on_leaving,
    left_min,
    admitted,
    admitted_direct,
    arrived_min,
    admission_temp_cel,
    temp_min,
    temp_site,
    cooling_start_min,
    maternal_fever,
    air_leak,
    air_leak_min,
    air_leak_symptomatic,
    air_leak_after_surgery,
    skin_injury_mask,
    died_min,
    died_place,
    in_population,
    gestation_band,
    multiple,
    attended,
    anomaly_hernia,
    anomaly_airway,
    anomaly_heart,
    limit_compressions,
    limit_drugs,
    limit_airway,
    comfort_only,
    need,
    secondary_need,
    ventilated,
    first_interface,
    first_device,
    first_inflation_lo,
    first_inflation_hi,
    hr_at_start,
    hr_at_start_value::numeric as hr_at_start_value,
    first_end,
    effective,
    to_first_end_lo,
    to_first_end_hi,
    first_end_lo,
    first_end_hi,
    to_sign_lo,
    to_sign_hi,
    sign_lo,
    sign_hi,
    mask_ventilated,
    any_step,
    step_count::numeric as step_count,
    tube,
    compressions,
    later_resuscitation,
    temp_late,
    order_loose,
    supported,
    first_support_lo,
    first_support_hi,
    heart_rate_known,
    heart_rate_lo,
    heart_rate_hi,
    stretch_lo,
    stretch_hi,
    heart_rate_rechecked,
    to_recheck_lo,
    to_recheck_hi,
    rose_to_100,
    to_100_lo,
    to_100_hi,
    first_check,
    step_when_needed,
    to_step_lo,
    to_step_hi,
    airway_reason,
    chest_before_airway,
    basic_steps,
    basic_steps_required::numeric as basic_steps_required,
    basic_steps_on_record::numeric as basic_steps_on_record,
    pressure_device_not_kept,
    gas_failure,
    starting_oxygen_pct,
    compressions_before_oxygen,
    oximeter_in_time,
    oximeter_lo,
    oximeter_hi,
    to_oximeter_lo,
    to_oximeter_hi,
    spo2_at_5_min,
    spo2_at_10_min,
    on_oxygen_at_10_min,
    ecg_used,
    ppv_total_lo,
    ppv_total_hi,
    tube_reason,
    tube_attempts::numeric as tube_attempts,
    first_tube_placed,
    longest_attempt_lo,
    longest_attempt_hi,
    saturation_fall,
    supraglottic_before_second_tube,
    cpap_given,
    tube_before_leaving,
    clamp_lo,
    clamp_hi,
    cord_excepted
from registry.facts;
comment on view registry.measurable is 'The facts as measure conditions read them: every number numeric, every code an enumeration, yes and no as boolean.';

-- +goose Down
drop view registry.measurable;
drop table registry.facts;
