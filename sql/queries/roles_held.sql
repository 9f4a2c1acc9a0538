-- Roles of the registry that this session may change to.
select rolname from pg_roles where rolname like $1 and pg_has_role(current_user, oid, 'member');
