-- A delivery that is refused again night after night is one refusal.
delete from ledger.delivery where outcome = 'refused'
    and (manifest = $1 or manifest is null and $1::bytea is null and refused_place = $2 and refused_rule = $3);
