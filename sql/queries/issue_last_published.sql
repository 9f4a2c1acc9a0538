select kind, unit, period, no, replaces, state, model, generation from issue.issue
where kind = $1 and unit = $2 and period = $3 and state = 'published' and no < $4
order by no desc limit 1;
