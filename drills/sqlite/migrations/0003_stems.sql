-- What a trial is made on, why it was asked, and how it was listened to.
ALTER TABLE record ADD COLUMN kind       TEXT    NOT NULL DEFAULT '';     -- '': to learn
ALTER TABLE record ADD COLUMN stem       INTEGER NOT NULL DEFAULT 0;      -- its number, from 1; 0: the whole mix
ALTER TABLE record ADD COLUMN stem_name  TEXT    NOT NULL DEFAULT '';
ALTER TABLE record ADD COLUMN role       TEXT    NOT NULL DEFAULT '';
ALTER TABLE record ADD COLUMN choices    INTEGER NOT NULL DEFAULT 0;      -- offered, without "nothing"; 0: a scale
ALTER TABLE record ADD COLUMN audible_db REAL    NOT NULL DEFAULT 0;      -- change of excitation; 0: not measured
ALTER TABLE record ADD COLUMN chance     REAL    NOT NULL DEFAULT 0;      -- predicted; 0: none was
ALTER TABLE record ADD COLUMN rove_db    REAL    NOT NULL DEFAULT 0;
ALTER TABLE record ADD COLUMN intent     TEXT    NOT NULL DEFAULT 'null'; -- JSON
ALTER TABLE record ADD COLUMN solo_s     REAL    NOT NULL DEFAULT 0;
