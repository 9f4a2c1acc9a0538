-- A number that was planned and never published is given again.
insert into issue.issue as i (kind, unit, period, no, replaces, state, model, generation)
values ($1, $2, $3, $4, $5, 'planned', $6, $7)
on conflict (kind, unit, period, no) do update set model = excluded.model, generation = excluded.generation
where i.state = 'planned';
