-- Roles of the registry. Run it as a superuser in the registry's database after
-- every migration; it may be repeated. Names begin with the configured prefix.
--   steward    migrates, purges, stores baselines
--   writer     loads deliveries and stores cells
--   reader     runs the conditions of measures
--   publisher  plans and publishes issues
do $do$
declare
    role text;
begin
    foreach role in array array['{{.}}steward', '{{.}}writer', '{{.}}reader', '{{.}}publisher'] loop
        if not exists (select from pg_roles where rolname = role) then
            execute format('create role %I nologin', role);
        end if;
    end loop;
    execute format('grant %I, %I, %I to %I', '{{.}}reader', '{{.}}writer', '{{.}}publisher', '{{.}}steward');
end $do$;

-- A condition that loops over everything must end by itself and may not fill
-- the disk. These hold for those who log in as the role; the program sets the
-- same where it only changes to it.
alter role {{.}}reader set statement_timeout = '15min';
alter role {{.}}reader set temp_file_limit = '16GB';
alter role {{.}}reader set default_transaction_read_only = on;
alter role {{.}}publisher set statement_timeout = '5min';
alter role {{.}}writer set statement_timeout = '2h';

-- Everyone may call these by default: a read-only role could persist a large
-- object or hold the run lock against the night.
do $do$
declare
    f regprocedure;
begin
    for f in
        select p.oid::regprocedure from pg_proc p
        where p.pronamespace = 'pg_catalog'::regnamespace
            and (p.proname like 'lo\_%' or p.proname in ('loread', 'lowrite') or p.proname like 'pg\_advisory\_%'
                or p.proname like 'pg\_try\_advisory\_%')
    loop
        execute format('revoke execute on function %s from public', f);
        if f::text like '%advisory%' then
            execute format('grant execute on function %s to %I, %I', f, '{{.}}writer', '{{.}}publisher');
        end if;
    end loop;
end $do$;

grant usage on schema registry, ledger, measure, issue to {{.}}reader, {{.}}writer, {{.}}publisher;
grant select on all tables in schema registry, ledger, measure, issue to {{.}}reader, {{.}}writer, {{.}}publisher;
grant select on public.schema_version to {{.}}reader, {{.}}writer, {{.}}publisher;
grant insert, update, delete on all tables in schema registry, ledger to {{.}}writer;
grant insert, update, delete on measure.cell, measure.definition to {{.}}writer;
grant insert on measure.baseline to {{.}}writer;
grant insert, update on ledger.run to {{.}}publisher;
grant insert, update, delete on all tables in schema issue to {{.}}publisher;
grant insert, update, delete on all tables in schema registry, ledger, measure, issue to {{.}}steward;
