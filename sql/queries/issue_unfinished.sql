select kind, unit, period, no, replaces, state, model, generation from issue.issue
where state = 'planned'
order by kind, unit, period, no;
