with planned as (
    select kind, unit, period, no from issue.issue where kind = $1 and unit = $2 and period = $3 and state = 'planned'
), signals as (
    delete from issue.issued_signal where (kind, unit, period, no) in (select * from planned)
)
delete from issue.issued_cell where (kind, unit, period, no) in (select * from planned);
