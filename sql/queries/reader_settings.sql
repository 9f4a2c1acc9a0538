-- What the roles' own settings say, for a session that only changes to one. The
-- sort must be a whole one: it computes every row before the first is handed
-- out, so that a condition which fails fails before anyone has seen a row.
select set_config('temp_file_limit', '16GB', true) from pg_settings
where name = 'is_superuser' and setting = 'on';
set local statement_timeout = '15min';
set local work_mem = '96MB';
set local enable_incremental_sort = off;
