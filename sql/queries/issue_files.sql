select name, sha256, bytes from issue.file
where kind = $1 and unit = $2 and period = $3 and no = $4
order by name;
