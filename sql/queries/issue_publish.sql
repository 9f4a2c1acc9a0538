update issue.issue set state = 'published'
where kind = $1 and unit = $2 and period = $3 and no = $4;
