"""The notebook's schema, version by version; an older notebook is brought up to date when it is opened."""

V1 = """
CREATE TABLE book (name INTEGER NOT NULL);
CREATE TABLE run (
  id INTEGER PRIMARY KEY,
  begun TEXT NOT NULL,
  ended TEXT,
  state TEXT NOT NULL,
  says TEXT NOT NULL DEFAULT '',
  kind TEXT NOT NULL,
  title TEXT NOT NULL,
  plan TEXT NOT NULL,
  plan_hash TEXT NOT NULL,
  recipe TEXT NOT NULL DEFAULT '',
  lamp TEXT NOT NULL DEFAULT '',
  delay_s REAL NOT NULL DEFAULT 0,
  rise_s REAL NOT NULL DEFAULT 0,
  continues INTEGER REFERENCES run (id),
  paper TEXT NOT NULL DEFAULT '',
  covered TEXT
);
CREATE TABLE exposure (
  run INTEGER NOT NULL REFERENCES run (id),
  number INTEGER NOT NULL,
  step INTEGER NOT NULL,
  label TEXT NOT NULL,
  asked_s REAL NOT NULL,
  ordered_us INTEGER NOT NULL,
  noted TEXT NOT NULL,
  boot BLOB NOT NULL,
  lit INTEGER NOT NULL DEFAULT 0,
  seen_us INTEGER NOT NULL DEFAULT 0,
  low_us INTEGER,
  high_us INTEGER,
  why TEXT,
  PRIMARY KEY (run, number)
) WITHOUT ROWID;
CREATE INDEX run_state ON run (state);
"""

# A small table of its own: searching it never touches the plans, which are long.
V2 = """
CREATE TABLE sheet (
  run INTEGER PRIMARY KEY REFERENCES run (id),
  begun TEXT NOT NULL,
  kind TEXT NOT NULL,
  title TEXT NOT NULL,
  negative TEXT NOT NULL DEFAULT '',
  paper TEXT NOT NULL DEFAULT '',
  box TEXT NOT NULL DEFAULT '',
  batch TEXT NOT NULL DEFAULT '',
  process TEXT NOT NULL DEFAULT '',
  notes TEXT NOT NULL DEFAULT '',
  rating INTEGER,
  area REAL NOT NULL DEFAULT 1,
  cost REAL,
  words TEXT NOT NULL
);
CREATE TABLE chemistry (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL,
  mixed TEXT NOT NULL,
  ml REAL NOT NULL,
  capacity REAL,
  used REAL NOT NULL DEFAULT 0,
  ended TEXT
);
CREATE TABLE reading (
  run INTEGER NOT NULL REFERENCES run (id),
  sample TEXT NOT NULL,
  red REAL,
  green REAL,
  blue REAL,
  visual REAL,
  taken TEXT NOT NULL,
  PRIMARY KEY (run, sample)
) WITHOUT ROWID;
ALTER TABLE exposure ADD COLUMN dose_s REAL;
INSERT INTO sheet (run, begun, kind, title, words) SELECT id, begun, kind, title, lower(title) FROM run;
"""

# An exposure's name is random, so that no two notebooks, restores or machines share one; older ones keep what they had.
# Where the lamp was (pin or port), and how much less a warm one was given, belong to the light.
# That paper is out is a fact of its own: it depends on no run and no clock.
V3 = """
ALTER TABLE exposure ADD COLUMN name INTEGER;
ALTER TABLE exposure ADD COLUMN noted_ns INTEGER;
ALTER TABLE exposure ADD COLUMN cut_us INTEGER NOT NULL DEFAULT 0;
UPDATE exposure SET name = ((SELECT name FROM book) << 32) | (run << 8) | number;
ALTER TABLE run ADD COLUMN lamp_at TEXT NOT NULL DEFAULT '';
ALTER TABLE run ADD COLUMN less_s REAL NOT NULL DEFAULT 0;
ALTER TABLE run ADD COLUMN recovery_s REAL NOT NULL DEFAULT 0;
ALTER TABLE run ADD COLUMN sums TEXT NOT NULL DEFAULT '';
CREATE TABLE paper_out (
  id INTEGER PRIMARY KEY,
  kind TEXT NOT NULL,
  since TEXT NOT NULL,
  run INTEGER REFERENCES run (id),
  covered TEXT
);
"""

# A test waits to be read, days if need be; ``made_for`` is the recipe that it was made for.
V4 = """
ALTER TABLE sheet ADD COLUMN unread INTEGER NOT NULL DEFAULT 0;
ALTER TABLE sheet ADD COLUMN made_for TEXT NOT NULL DEFAULT '';
CREATE INDEX sheet_unread ON sheet (run) WHERE unread;
"""

# What a reading was taken with, and how far it may be off; older ones are a densities file's.
V5 = """
ALTER TABLE reading ADD COLUMN kind TEXT NOT NULL DEFAULT '';
ALTER TABLE reading ADD COLUMN error REAL;
"""

# Which of two heads of one kind a sheet was made on, by the name that the printer gives it.
V6 = """
ALTER TABLE sheet ADD COLUMN head TEXT NOT NULL DEFAULT '';
"""

STEPS = (V1, V2, V3, V4, V5, V6)
VERSION = len(STEPS)
