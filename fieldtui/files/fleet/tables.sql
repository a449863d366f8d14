-- The tables that the other queries stand on. Whoever runs them elsewhere fills these three:
--
-- sessions  one row a session folder; what session.toml says of it, read by a TOML reader:
--           session     any name, used once, such as the folder's path
--           asset, route  what was measured, along which route ([route] asset and name)
--           first_link  where the chain begins (key chain)
--           digest      SHA-256 of the file session.toml, hex
--           trail       path of its trail.csv, as given to the CSV reader; empty for none
--           results     path of its results.csv, used where there is no trail.csv; else empty
-- trail     the rows of every trail.csv, columns as in its first line; "row", record and run are
--           whole numbers, everything else is text as it stands in the file, NULL or '' where empty
-- results   the rows of every results.csv, all text
CREATE TABLE sessions (
    session VARCHAR, asset VARCHAR, route VARCHAR, first_link VARCHAR, digest VARCHAR,
    trail VARCHAR, results VARCHAR
);
CREATE TABLE trail (
    session VARCHAR, "row" INTEGER, "time" VARCHAR, kind VARCHAR, record INTEGER, point VARCHAR, run INTEGER,
    number VARCHAR, "value" VARCHAR, unit VARCHAR, verdict VARCHAR, ref VARCHAR, reason VARCHAR, note VARCHAR,
    "by" VARCHAR, chain VARCHAR
);
CREATE TABLE results (
    session VARCHAR, point VARCHAR, limit_text VARCHAR, as_left VARCHAR, as_left_record VARCHAR, unit VARCHAR,
    verdict VARCHAR, "time" VARCHAR
);
CREATE TABLE settled (
    session VARCHAR, point VARCHAR, record INTEGER, "time" VARCHAR, "value" VARCHAR, unit VARCHAR,
    verdict VARCHAR, is_retest INTEGER, limit_text VARCHAR, has_failed INTEGER
);
