select coalesce(max(version_id), 0) from public.schema_version where is_applied;
