-- How DuckDB reads every results.csv at once. $files is the list of their paths. Columns are found by name.
INSERT INTO results
SELECT s.session, t.point, t."limit", t.as_left, t.as_left_record, t.unit, t.verdict, t."time"
FROM read_csv(
    $files, filename = 'file', header = true, all_varchar = true, union_by_name = true, ignore_errors = true,
    delim = ',', quote = '"', escape = '"'
) AS t
JOIN sessions AS s ON s.results = t.file
