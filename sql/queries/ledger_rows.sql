-- The ledger as text, one line a delivery, file or generation, in the order in
-- which they came: what a digest of the ledger is taken over.
select line from (
    select d.no, 1 as part, '' as name, concat_ws('|', 'delivery', d.no, s.code, encode(d.manifest, 'hex'), d.sequence, d.month_from, d.month_to,
        d.coverage, d.mode, d.privacy, coalesce(d.agreement, ''), d.synthetic,
        to_char(d.extracted_at at time zone 'utc', 'YYYY-MM-DD"T"HH24:MI:SS.US'), coalesce(d.generation, 0)) as line
    from ledger.delivery d join registry.source s on s.no = d.source_no
    where d.outcome = 'loaded' and d.no <= $1
    union all
    select f.delivery_no, 2, f.name, concat_ws('|', 'file', f.delivery_no, f.name, encode(f.sha256, 'hex'), f.read, f.loaded, f.revised, f.unchanged,
        f.withdrawn, f.superseded, f.duplicate, f.held, f.held_with)
    from ledger.file f join ledger.delivery d on d.no = f.delivery_no
    where d.outcome = 'loaded' and d.no <= $1
    union all
    select g.no, 3, '', concat_ws('|', 'generation', g.no, g.cause, coalesce(g.delivery_no, 0))
    from ledger.generation g
    where g.no <= $2
) x
order by (part = 3), no, part, name collate "C";
