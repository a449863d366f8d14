-- The same from results.csv, where there is no trail beside it. One with verdicts in doubt or unproven (column
-- in_doubt) is not to be given to this query: why_no_results leaves it out. A cell that a spreadsheet would run
-- carries an apostrophe there; it is taken off the point's name. Whether a point failed before its last reading
-- does not stand in that file.
SELECT
    session,
    CASE WHEN SUBSTR(point, 1, 1) = '''' THEN SUBSTR(point, 2) ELSE point END AS point,
    CAST(0 AS INTEGER) AS record,
    "time", as_left AS "value", unit, verdict,
    0 AS is_retest,
    CASE WHEN SUBSTR(limit_text, 1, 1) = '''' THEN SUBSTR(limit_text, 2) ELSE limit_text END AS limit_text,
    CASE WHEN verdict IN ('fail', 'conditional fail') THEN 1 ELSE 0 END AS has_failed
FROM results
WHERE COALESCE(as_left, '') <> ''
ORDER BY session, point
