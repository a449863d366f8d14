-- The sessions that settled.sql cannot follow, each with the first row that is the cause and why.
-- They have to be read by the program, event by event. It cannot see what session.toml says: routes with
-- several readings to a take are not followed either.
WITH taken AS (
    SELECT
        session, "row", record,
        ROW_NUMBER() OVER (PARTITION BY session ORDER BY "row") AS place
    FROM trail
    WHERE kind = 'reading'
),
timed AS (
    SELECT session, "row", "time", LAG("time") OVER (PARTITION BY session ORDER BY "row") AS time_before
    FROM trail
),
causes AS (
    SELECT session, "row", 'readings were moved to other points' AS why
    FROM trail
    WHERE kind IN ('shift', 'mirror') OR (kind = 'amend' AND COALESCE(point, '') <> '')
    UNION ALL
    SELECT session, "row", 'an unplanned point was inserted'
    FROM trail
    WHERE kind = 'insert'
    UNION ALL
    SELECT session, "row", 'another meter was taken'
    FROM trail
    WHERE kind = 'meter'
    UNION ALL
    SELECT session, "row", 'a check of the meter failed'
    FROM trail
    WHERE COALESCE(verdict, '') <> 'good'
        AND (kind = 'standard' OR (kind = 'brief' AND ref = 'check standard' AND COALESCE("value", '') <> ''))
    UNION ALL
    SELECT t.session, t."row", 'its chain was made anew before it was reopened'
    FROM trail AS t
    JOIN trail AS b ON b.session = t.session AND b."row" = t."row" - 1
    WHERE t.kind = 'reopen' AND COALESCE(t.ref, '') <> COALESCE(b.chain, '')
    UNION ALL
    SELECT session, "row", 'a corrected value has no verdict'
    FROM trail
    WHERE kind = 'amend' AND COALESCE("value", '') <> '' AND COALESCE(verdict, '') = ''
    UNION ALL
    SELECT session, "row", 'readings are not counted 1, 2, 3'
    FROM taken
    WHERE COALESCE(record, 0) <> place
    UNION ALL
    SELECT t.session, t."row", 'it speaks of a reading that is not there'
    FROM trail AS t
    WHERE t.kind IN ('void', 'amend') AND NOT EXISTS (
        SELECT 1
        FROM trail AS r
        WHERE r.session = t.session AND r.kind = 'reading' AND CAST(r.record AS VARCHAR) = t.ref
            AND r."row" < t."row"
    )
    UNION ALL
    SELECT session, "row", 'it is timed before the row above it'
    FROM timed
    WHERE "time" < time_before
    UNION ALL
    SELECT session, "row", 'a kind of row that these queries do not know'
    FROM trail
    WHERE kind NOT IN (
        'start', 'open', 'recovered', 'clock', 'close', 'brief', 'run', 'reading', 'attempt', 'skip', 'redo',
        'void', 'insert', 'jump', 'reverse', 'pause', 'proceed', 'note', 'number', 'reconcile', 'renumber',
        'unfiled', 'erase', 'amend', 'shift', 'mirror', 'discrepancy', 'rework', 'waive', 'standard', 'lead',
        'release', 'sign', 'reopen', 'restored', 'handover', 'meter', 'path'
    )
),
ordered AS (
    SELECT session, "row", why, ROW_NUMBER() OVER (PARTITION BY session ORDER BY "row", why) AS place
    FROM causes
)
SELECT session, "row", why
FROM ordered
WHERE place = 1
ORDER BY session
