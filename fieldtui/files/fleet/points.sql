-- Every point over its surveys, from the table settled: in how many it was read and failed, be it that it was
-- repaired in the same survey and passed, and its first and last value. Values are digits as keyed, each in its own unit.
WITH surveys AS (
    SELECT
        s.asset, s.route, d.point, d."time", d."value", d.unit,
        d.has_failed,
        ROW_NUMBER() OVER (PARTITION BY s.asset, s.route, d.point ORDER BY d."time", d.session) AS forth,
        ROW_NUMBER() OVER (
            PARTITION BY s.asset, s.route, d.point ORDER BY d."time" DESC, d.session DESC
        ) AS back
    FROM settled AS d
    JOIN sessions AS s ON s.session = d.session
)
SELECT
    asset, route, point,
    COUNT(*) AS surveys,
    SUM(has_failed) AS failed,
    MAX(CASE WHEN forth = 1 THEN "time" END) AS first_time,
    MAX(CASE WHEN forth = 1 THEN "value" END) AS first_value,
    MAX(CASE WHEN forth = 1 THEN unit END) AS first_unit,
    MAX(CASE WHEN back = 1 THEN "time" END) AS last_time,
    MAX(CASE WHEN back = 1 THEN "value" END) AS last_value,
    MAX(CASE WHEN back = 1 THEN unit END) AS last_unit
FROM surveys
GROUP BY asset, route, point
ORDER BY asset, route, point
