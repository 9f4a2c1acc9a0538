select to_regclass('public.schema_version') is not null;
