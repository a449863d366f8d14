-- What each survey left at each point: the last reading that was not struck out, as corrected last.
-- A redo or a retest needs nothing here: its reading simply is a later one. is_retest is 1 where the point
-- was reworked before it was taken; has_failed is 1 where it or a reading before it that holds failed. A cell that a spreadsheet would run carries an apostrophe; it is taken off. The verdict is the one that was said; verify judges it anew.
-- A verdict is never one in doubt here: sessions in which a check of the meter failed are in not_followed.sql,
-- and of those the answer may be wrong.
WITH corrected AS (
    SELECT
        session, ref, "value", unit, verdict,
        ROW_NUMBER() OVER (PARTITION BY session, ref ORDER BY "row" DESC) AS back
    FROM trail
    WHERE kind = 'amend' AND COALESCE("value", '') <> ''
),
standing AS (
    SELECT
        r.session,
        r.point,
        r.record,
        r."time",
        r."row",
        COALESCE(c."value", r."value") AS "value",
        COALESCE(c.unit, r.unit) AS unit,
        COALESCE(c.verdict, r.verdict) AS verdict,
        MAX(CASE WHEN COALESCE(c.verdict, r.verdict) IN ('fail', 'conditional fail') THEN 1 ELSE 0 END) OVER (
            PARTITION BY r.session, r.point
        ) AS has_failed,
        ROW_NUMBER() OVER (PARTITION BY r.session, r.point ORDER BY r.record DESC) AS back
    FROM trail AS r
    LEFT JOIN corrected AS c
        ON c.session = r.session AND c.ref = CAST(r.record AS VARCHAR) AND c.back = 1
    WHERE r.kind = 'reading' AND NOT EXISTS (
        SELECT 1
        FROM trail AS v
        WHERE v.session = r.session AND v.kind = 'void' AND v.ref = CAST(r.record AS VARCHAR)
    )
)
SELECT
    s.session,
    CASE WHEN SUBSTR(s.point, 1, 1) = '''' THEN SUBSTR(s.point, 2) ELSE s.point END AS point,
    s.record,
    s."time", s."value", s.unit, s.verdict,
    CASE WHEN EXISTS (
        SELECT 1
        FROM trail AS w
        WHERE w.session = s.session AND w.kind = 'rework' AND w.point = s.point AND w."row" < s."row"
    ) THEN 1 ELSE 0 END AS is_retest,
    '' AS limit_text,
    s.has_failed
FROM standing AS s
WHERE s.back = 1
ORDER BY s.session, s.record
