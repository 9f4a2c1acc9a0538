-- Whether another version of the derivation made any current facts.
select exists (select from registry.facts where gen_to is null and derivation <> $1);
