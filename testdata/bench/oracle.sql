-- The second reading of a floor, in SQL alone. Nothing here was taken from the
-- program: it follows the table in the documentation of package events, "How
-- events move cells". Load the log's event lines into table log as they stand
-- (sqlite3: .import, or packwright export events), then read the views:
--
--   cell         what lies where: lot, item, stage, place, number
--   balance      each lot: received, in the books, the difference
--   stage_total  units by stage
--   content      each carton: lot, item, stage, number, with what has left in it
--   marked       each mark on the floor or gone: its lot and last place
--   plan_line    the plan in force; plan_at gives every revision
--   compared     each carton and item: planned, scanned, last counted
--   difference   those of them that do not agree, with their kind
--   sent         each plan: planned, dispatched

CREATE TABLE log (
  frame INTEGER, idx INTEGER,    -- place in the log
  type  TEXT,                    -- unit.placed
  line  TEXT,                    -- the whole line, envelope and body
  PRIMARY KEY (frame, idx)
) WITHOUT ROWID;

-- at orders the log; body is what the event says.
CREATE VIEW event AS
  SELECT frame * 1000000 + idx AS at, type, json_extract(line, '$.data') AS body FROM log;

-- MOVES: one row for each group of units an event takes from one cell to
-- another. A mark list stands beside the number; where marks begin or end with
-- the move, out_marks and in_marks differ.
CREATE VIEW move AS
SELECT at, type, body ->> 'lot' AS lot, NULL AS from_stage, NULL AS from_place, 'received' AS to_stage, body ->> 'tote' AS to_place,
       body ->> 'qty' AS q, NULL AS out_marks, NULL AS in_marks
  FROM event WHERE type = 'lot.received'
UNION ALL SELECT at, type, body ->> 'lot', NULL, NULL, body ->> 'stage', body ->> 'place', body ->> 'delta', NULL, NULL
  FROM event WHERE type = 'lot.corrected'
UNION ALL SELECT at, type, body ->> 'lot', body ->> 'stage', body ->> 'from', body ->> 'stage', body ->> 'to', body ->> 'q', body -> 'marks', body -> 'marks'
  FROM event WHERE type = 'tote.split'
UNION ALL SELECT at, type, body ->> 'lot', 'received', body ->> 'tote',
       CASE body ->> 'verdict' WHEN 'prep' THEN 'triaged' WHEN 'hold' THEN 'held' WHEN 'divert' THEN 'diverted' ELSE 'written-off' END,
       CASE body ->> 'verdict' WHEN 'prep' THEN body ->> 'tote' WHEN 'hold' THEN body ->> 'to' END, body ->> 'q', NULL, NULL
  FROM event WHERE type = 'units.triaged'
UNION ALL SELECT at, type, body ->> 'lot', body ->> 'stage', body ->> 'from', 'held', body ->> 'to', body ->> 'q', body -> 'marks', body -> 'marks'
  FROM event WHERE type = 'units.held'
UNION ALL SELECT at, type, body ->> 'lot', 'held', body ->> 'from', body ->> 'stage', body ->> 'to', body ->> 'q', body -> 'marks', body -> 'marks'
  FROM event WHERE type = 'hold.released'
UNION ALL SELECT at, type, body ->> 'lot', body ->> 'stage', body ->> 'from',
       CASE type WHEN 'units.diverted' THEN 'diverted' WHEN 'units.written-off' THEN 'written-off' ELSE 'unaccounted' END, NULL, body ->> 'q', body -> 'marks', NULL
  FROM event WHERE type IN ('units.diverted', 'units.written-off', 'units.unaccounted')
UNION ALL SELECT at, type, body ->> 'lot', 'diverted', NULL, 'received', body ->> 'tote', body ->> 'q', NULL, NULL
  FROM event WHERE type = 'units.returned-to-floor'
UNION ALL SELECT at, type, body ->> 'lot', 'triaged', body ->> 'from', 'prepped', body ->> 'to', body ->> 'q', NULL, body -> 'marks'
  FROM event WHERE type = 'units.prepped'
UNION ALL SELECT at, type, body ->> 'lot', body ->> 'stage', body ->> 'from',
       CASE body ->> 'verdict' WHEN 'hold' THEN 'held' WHEN 'divert' THEN 'diverted' ELSE 'written-off' END,
       CASE body ->> 'verdict' WHEN 'hold' THEN body ->> 'to' END, body ->> 'q', json_array(body ->> 'mark'), json_array(body ->> 'mark')
  FROM event WHERE type = 'unit.spoiled'
UNION ALL SELECT at, event.type, c.value ->> 'lot', c.value ->> 'stage', c.value ->> 'from', 'consumed', NULL, c.value ->> 'q', c.value -> 'marks', NULL
  FROM event, json_each(body, '$.components') AS c WHERE event.type = 'bundle.built'
UNION ALL SELECT at, type, body ->> 'lot', NULL, NULL, 'triaged', body ->> 'to', body ->> 'q', NULL, NULL
  FROM event WHERE type = 'bundle.built'
UNION ALL SELECT at, type, body ->> 'lot', body ->> 'stage', body ->> 'place', 'unmarked', body ->> 'place', 1, json_array(body ->> 'mark'), NULL
  FROM event WHERE type = 'mark.voided' AND body ->> 'lot' <> ''
UNION ALL SELECT at, type, body ->> 'lot', 'unmarked', body ->> 'from', 'prepped', body ->> 'to', 1, NULL, json_array(body ->> 'mark')
  FROM event WHERE type = 'unit.marked'
UNION ALL SELECT at, type, body ->> 'lot', 'prepped', body ->> 'from', 'prepped', body ->> 'carton', body ->> 'q', body -> 'marks', body -> 'marks'
  FROM event WHERE type = 'unit.placed'
UNION ALL SELECT at, type, body ->> 'lot', 'prepped', body ->> 'carton', 'prepped', body ->> 'to', body ->> 'q', body -> 'marks', body -> 'marks'
  FROM event WHERE type = 'unit.taken-out';

-- Each move takes from one cell and gives to another.
CREATE TABLE delta AS SELECT 0 AS at, '' AS lot, '' AS stage, '' AS place, 0 AS q, '' AS marks WHERE 0;
CREATE VIEW delta_of_log AS
  SELECT at, lot, from_stage AS stage, coalesce(from_place, '') AS place, -q AS q, out_marks AS marks FROM move WHERE from_stage IS NOT NULL
  UNION ALL SELECT at, lot, to_stage, coalesce(to_place, ''), q, in_marks FROM move;

-- WHOLE CARTONS: these events move all units of one stage in a carton at once.
CREATE TABLE whole (type TEXT, from_stage TEXT, to_stage TEXT);
INSERT INTO whole VALUES
  ('count.accepted', 'prepped', 'contents-counted'), ('count.voided', 'contents-counted', 'prepped'),
  ('carton.sealed', 'contents-counted', 'sealed'), ('carton.reopened', 'sealed', 'prepped'),
  ('carton.dispatched', 'sealed', 'dispatched'), ('dispatch.cancelled', 'dispatched', 'sealed');
CREATE TABLE turn AS SELECT '' AS carton, 0 AS n, 0 AS at, '' AS type WHERE 0;
CREATE VIEW turn_of_log AS
  SELECT body ->> 'carton' AS carton, row_number() OVER (PARTITION BY body ->> 'carton' ORDER BY at) AS n, at, type
    FROM event WHERE type IN (SELECT type FROM whole);

-- A delta at a carton goes through every turn after it: walk follows it from the
-- stage it was made at, start turns having gone before, to the stage it has now.
CREATE VIEW started AS
  SELECT *, (SELECT count(*) FROM turn WHERE carton = d.place AND turn.at < d.at) AS start FROM delta AS d;
CREATE VIEW walk AS WITH RECURSIVE w (carton, start, first, n, stage) AS (
    SELECT DISTINCT place, start, stage, start, stage FROM started WHERE place IN (SELECT carton FROM turn)
    UNION ALL
    SELECT w.carton, start, first, t.n, coalesce((SELECT to_stage FROM whole WHERE type = t.type AND from_stage = w.stage), w.stage)
      FROM w JOIN turn AS t ON t.carton = w.carton AND t.n = w.n + 1)
  SELECT carton, start, first, stage FROM w WHERE n = (SELECT count(*) FROM turn WHERE carton = w.carton);

-- box is the carton the units are in or left in.
CREATE TABLE settled AS SELECT 0 AS at, '' AS lot, '' AS stage, '' AS place, '' AS box, 0 AS q, '' AS marks WHERE 0;
CREATE VIEW settled_of_log AS
  SELECT at, lot, coalesce(w.stage, d.stage) AS stage, iif(w.stage = 'dispatched', '', place) AS place, place AS box, q, marks
    FROM started AS d LEFT JOIN walk AS w ON w.carton = d.place AND w.start = d.start AND w.first = d.stage;

CREATE VIEW lot AS
  SELECT body ->> 'lot' AS lot, body ->> 'item' AS item FROM event WHERE type = 'lot.announced'
  UNION SELECT body ->> 'lot', body ->> 'item' FROM event WHERE type = 'bundle.built';

CREATE VIEW cell AS
  SELECT lot, item, stage, place, sum(q) AS n FROM settled JOIN lot USING (lot) GROUP BY lot, stage, place HAVING sum(q) <> 0;

CREATE VIEW received AS
  SELECT body ->> 'lot' AS lot, sum(coalesce(body ->> 'qty', body ->> 'delta', body ->> 'q')) AS n
    FROM event WHERE type IN ('lot.received', 'lot.corrected', 'bundle.built') GROUP BY 1;

CREATE VIEW balance AS
  SELECT lot, item, coalesce(r.n, 0) AS received, coalesce(sum(c.n), 0) AS in_books, coalesce(r.n, 0) - coalesce(sum(c.n), 0) AS missing
    FROM lot LEFT JOIN received AS r USING (lot) LEFT JOIN cell AS c USING (lot, item) GROUP BY lot;

CREATE VIEW stage_total AS SELECT stage, sum(n) AS n FROM cell GROUP BY stage;

CREATE VIEW plan_change AS
  SELECT at, body ->> 'plan' AS plan, body ->> 'rev' AS rev, c.value ->> 'carton' AS carton, c.value ->> 'item' AS item, c.value ->> 'owner' AS owner,
         coalesce(c.value ->> 'q', c.value ->> 'delta') AS delta
    FROM event, json_each(body, iif(event.type = 'plan.released', '$.lines', '$.changes')) AS c WHERE event.type IN ('plan.released', 'plan.amended');
CREATE VIEW plan_at AS
  SELECT r.plan, r.rev, c.carton, c.item, c.owner, sum(c.delta) AS q
    FROM (SELECT DISTINCT plan, rev FROM plan_change) AS r JOIN plan_change AS c ON c.plan = r.plan AND c.rev <= r.rev
   GROUP BY r.plan, r.rev, c.carton, c.item, c.owner;
CREATE VIEW plan_line AS SELECT plan, max(rev) AS rev, carton, item, owner, sum(delta) AS q FROM plan_change GROUP BY plan, carton, item, owner HAVING sum(delta) > 0;

CREATE VIEW carton AS SELECT DISTINCT carton FROM plan_change UNION SELECT body ->> 'carton' FROM event WHERE type = 'carton.opened';

CREATE VIEW content AS
  SELECT box AS carton, lot, item, stage, sum(q) AS n FROM settled JOIN lot USING (lot)
   WHERE box IN (SELECT carton FROM carton) GROUP BY box, lot, stage HAVING sum(q) <> 0;

-- MARKS are written as runs, M-0001..M-0014.
CREATE VIEW mark_move AS WITH RECURSIVE run (at, lot, box, sign, m, last) AS (
    SELECT at, lot, box, sign(q), CAST(substr(r.value, 3) AS INTEGER), CAST(substr(r.value, coalesce(nullif(instr(r.value, '..'), 0), -1) + 4) AS INTEGER)
      FROM settled, json_each(marks) AS r WHERE r.value IS NOT NULL
    UNION ALL SELECT at, lot, box, sign, m + 1, last FROM run WHERE m < last)
  SELECT at, lot, box, sign, m FROM run;
CREATE VIEW marked AS
  SELECT m, lot, box AS place FROM mark_move GROUP BY m, lot, box HAVING sum(sign) <> 0;

-- COUNTS: the last one that still speaks of the carton as it is.
CREATE VIEW count AS
  SELECT at, body ->> 'carton' AS carton, body ->> 'total' AS total, body -> 'lines' AS lines FROM event AS e
   WHERE type = 'count.entered' AND NOT EXISTS (SELECT 1 FROM event AS x WHERE x.at > e.at AND x.body ->> 'carton' = e.body ->> 'carton'
     AND x.type IN ('count.entered', 'carton.finished', 'count.voided', 'carton.reopened'));

CREATE VIEW carton_item AS
  SELECT carton, item FROM plan_line UNION SELECT carton, item FROM content WHERE stage <> 'unmarked'
  UNION SELECT carton, l.value ->> 'item' FROM count, json_each(lines) AS l;
CREATE VIEW compared AS
  SELECT ci.carton, ci.item,
         (SELECT coalesce(sum(q), 0) FROM plan_line AS p WHERE p.carton = ci.carton AND p.item = ci.item) AS planned,
         (SELECT coalesce(sum(n), 0) FROM content AS c WHERE c.carton = ci.carton AND c.item = ci.item AND stage <> 'unmarked') AS scanned,
         CASE WHEN k.lines IS NOT NULL THEN (SELECT sum(l.value ->> 'q') FROM json_each(k.lines) AS l WHERE l.value ->> 'item' = ci.item)
              WHEN (SELECT count(*) FROM carton_item AS o WHERE o.carton = ci.carton) = 1 THEN k.total END AS counted
    FROM carton_item AS ci LEFT JOIN count AS k ON k.carton = ci.carton;

-- A carton is finished from FINISH CARTON on, until it is open again.
CREATE VIEW finished AS
  SELECT carton FROM (SELECT body ->> 'carton' AS carton, type, max(at) FROM event
    WHERE type IN ('carton.opened', 'carton.finished', 'unit.placed', 'unit.taken-out', 'count.accepted', 'count.voided', 'carton.sealed', 'carton.reopened',
                   'carton.voided', 'carton.dispatched', 'dispatch.cancelled') GROUP BY 1)
   WHERE type IN ('carton.finished', 'count.accepted', 'carton.sealed', 'carton.dispatched', 'dispatch.cancelled');
CREATE VIEW difference AS
  SELECT carton, item, planned, scanned, counted,
         CASE WHEN planned = 0 AND scanned > 0 THEN 'UNPLANNED' WHEN scanned > planned THEN 'OVER' ELSE 'SHORT' END AS kind
    FROM compared WHERE scanned > planned OR carton IN (SELECT carton FROM finished) AND (scanned < planned OR counted < planned);

CREATE VIEW sent AS
  SELECT plan, (SELECT sum(q) FROM plan_line AS l WHERE l.plan = p.plan) AS planned,
         coalesce((SELECT sum(n) FROM content WHERE stage = 'dispatched' AND carton IN (SELECT carton FROM plan_change WHERE plan = p.plan)), 0) AS dispatched
    FROM (SELECT DISTINCT plan FROM plan_change) AS p;
