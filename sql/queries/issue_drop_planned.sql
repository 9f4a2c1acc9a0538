delete from issue.issue where kind = $1 and unit = $2 and period = $3 and state = 'planned';
