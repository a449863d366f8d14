-- Each session's number of rows, and whether it is closed: 1 where no reopening followed the last close.
SELECT
    session,
    COUNT(*) AS row_count,
    CASE
        WHEN COALESCE(MAX(CASE WHEN kind = 'close' THEN "row" END), 0)
            > COALESCE(MAX(CASE WHEN kind = 'reopen' THEN "row" END), 0) THEN 1
        ELSE 0
    END AS is_closed
FROM trail
GROUP BY session
ORDER BY session
