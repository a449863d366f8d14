-- How DuckDB reads every trail.csv at once. $files is the list of their paths. A line that is no row is
-- passed over here, and found by chain.sql; so is a whole number that is not written plainly, such as 03.
INSERT INTO trail
SELECT
    s.session,
    CASE WHEN CAST(TRY_CAST(t."row" AS INTEGER) AS VARCHAR) = t."row" THEN TRY_CAST(t."row" AS INTEGER) END,
    t."time",
    t.kind,
    CASE WHEN CAST(TRY_CAST(t.record AS INTEGER) AS VARCHAR) = t.record THEN TRY_CAST(t.record AS INTEGER) END,
    t.point,
    CASE WHEN CAST(TRY_CAST(t.run AS INTEGER) AS VARCHAR) = t.run THEN TRY_CAST(t.run AS INTEGER) END,
    t.number, t."value", t.unit, t.verdict, t.ref, t.reason, t.note, t."by", t.chain
FROM read_csv(
    $files, filename = 'file', header = true, auto_detect = false, ignore_errors = true,
    delim = ',', quote = '"', escape = '"', new_line = '\n',
    columns = {
        'row': 'VARCHAR', 'time': 'VARCHAR', 'kind': 'VARCHAR', 'record': 'VARCHAR', 'point': 'VARCHAR',
        'run': 'VARCHAR', 'number': 'VARCHAR', 'value': 'VARCHAR', 'unit': 'VARCHAR', 'verdict': 'VARCHAR',
        'ref': 'VARCHAR', 'reason': 'VARCHAR', 'note': 'VARCHAR', 'by': 'VARCHAR', 'chain': 'VARCHAR'
    }
) AS t
JOIN sessions AS s ON s.trail = t.file
