-- The trails whose chain does not hold, each with the first row that is wrong. Also those that hold rows
-- out of order, or whose first row does not carry the digest of session.toml.
-- $separator is the ASCII unit separator, character 31. sha256() gives 64 hex digits; an engine without it
-- wants one registered. A trail cut off at its end is not found here: hold the number of rows against it.
WITH placed AS (
    SELECT
        t.session,
        t."row",
        t.chain,
        t.kind,
        t.ref,
        s.digest,
        ROW_NUMBER() OVER (PARTITION BY t.session ORDER BY COALESCE(t."row", 0)) AS place,
        COALESCE(
            LAG(t.chain) OVER (PARTITION BY t.session ORDER BY COALESCE(t."row", 0)), s.first_link
        ) AS link_before,
        COALESCE(CAST(t."row" AS VARCHAR), '') || $separator || COALESCE(t."time", '') || $separator
            || COALESCE(t.kind, '') || $separator || COALESCE(CAST(t.record AS VARCHAR), '') || $separator
            || COALESCE(t.point, '') || $separator || COALESCE(CAST(t.run AS VARCHAR), '') || $separator
            || COALESCE(t.number, '') || $separator || COALESCE(t."value", '') || $separator
            || COALESCE(t.unit, '') || $separator || COALESCE(t.verdict, '') || $separator
            || COALESCE(t.ref, '') || $separator || COALESCE(t.reason, '') || $separator
            || COALESCE(t.note, '') || $separator || COALESCE(t."by", '') AS cells
    FROM trail AS t
    JOIN sessions AS s ON s.session = t.session
)
SELECT session, MIN(place) AS "row"
FROM placed
WHERE COALESCE("row", 0) <> place
    OR COALESCE(chain, '') <> SUBSTR(sha256(link_before || $separator || cells), 1, 32)
    OR (place = 1 AND (kind <> 'start' OR COALESCE(ref, '') <> digest))
GROUP BY session
ORDER BY session
