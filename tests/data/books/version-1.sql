PRAGMA journal_mode = WAL;
BEGIN;
CREATE TABLE entry (
    id      INTEGER PRIMARY KEY CHECK (id > 0),
    event   TEXT    NOT NULL,
    at      INTEGER NOT NULL, -- whole seconds since 1970-01-01T00:00:00Z, as are all times
    written INTEGER NOT NULL,
    who     TEXT    NOT NULL,
    place   TEXT    NOT NULL,
    kind    TEXT    NOT NULL,
    body    TEXT    NOT NULL  -- JSON
) STRICT;
CREATE INDEX entry_of_event ON entry (event, id);
CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN
    SELECT RAISE (ABORT, 'an entry of the book is never changed');
END;
CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry
BEGIN
    SELECT RAISE (ABORT, 'an entry of the book is never removed');
END;
CREATE TRIGGER entry_is_never_replaced BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
BEGIN
    SELECT RAISE (ABORT, 'an entry of the book is never replaced');
END;
INSERT INTO entry (event, at, written, who, place, kind, body) VALUES
    ('supper@2026-11-28', 1795680000, 1795680000, 'ana', 'pastry', 'menu-seen',
     '{"steps":{"pears/poach":{"name":"Poach the pears","time":"2h"}}}'),
    ('supper@2026-11-28', 1795680300, 1795680310, 'ana', 'pastry', 'started', '{"step":"pears/poach"}'),
    ('other@2026-12-05', 1795680400, 1795680400, '', '', 'started', '{"step":"figs/soak"}'),
    ('supper@2026-11-28', 1795687500, 1795687520, '渡辺', 'pastry', 'finished', '{"step":"pears/poach"}'),
    ('supper@2026-11-28', 1795687600, 1795687600, 'ana', 'pastry', 'undone', '{"entry":4}'),
    ('supper@2026-11-28', 1795687700, 1795687700, 'ana', 'pastry', 'skipped',
     '{"step":"pears/glaze","reason":"no room; e\u0301 \u0007 \u202e"}'),
    ('supper@2026-11-28', 1795687800, 1795687800, 'ana', 'pastry', 'reading', '{"step":"pears/poach","celsius":4}'),
    ('supper@2026-11-28', 1795687900, 1795687900, 'ana', 'pastry', 'started', 'not json');
PRAGMA application_id = 1131700843;
PRAGMA user_version = 1;
COMMIT;
