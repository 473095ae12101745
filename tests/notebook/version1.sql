BEGIN TRANSACTION;
CREATE TABLE book (name INTEGER NOT NULL);
INSERT INTO "book" VALUES(524121597);
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
INSERT INTO "exposure" VALUES(1,0,1,'base',14.72,14720000,'2026-11-25T15:10:16.551+00:00',X'55D1E4FACAD54A7D902C80326D176187',1,0,14721041,14721041,'complete');
INSERT INTO "exposure" VALUES(1,1,3,'sky',8.64654348497189495503e+00,8646543,'2026-11-25T15:10:16.627+00:00',X'55D1E4FACAD54A7D902C80326D176187',1,0,8646796,8646796,'complete');
INSERT INTO "exposure" VALUES(1,2,5,'post',4.6000000000000005329e+00,4600000,'2026-11-25T15:10:16.673+00:00',X'55D1E4FACAD54A7D902C80326D176187',1,0,4600252,4600252,'complete');
INSERT INTO "exposure" VALUES(2,0,1,'patches 1 to 2',0.2,200000,'2026-11-25T15:10:16.915+00:00',X'55D1E4FACAD54A7D902C80326D176187',1,0,200005,200005,'complete');
INSERT INTO "exposure" VALUES(2,1,3,'patch 2',5.1984209978974627031e-02,51984,'2026-11-25T15:10:17.118+00:00',X'55D1E4FACAD54A7D902C80326D176187',1,0,51985,51985,'complete');
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
INSERT INTO "run" VALUES(1,'2026-11-25T15:10:16.550+00:00','2026-11-25T15:10:16.699+00:00','finished','finished','print','Hut by the water','{"kind":"print","title":"Hut by the water","steps":[{"do":"wait","say":"paper in the easel, lens stopped down, grade 2 1/2 in","area":"","seconds":0.0,"filters":"grade 2 1/2","marks":[]},{"do":"expose","say":"base: hold back hut (small disc, circling, hand high)","area":"base","seconds":14.72,"filters":"grade 2 1/2","marks":[{"at":1.5183641287570255,"cue":"warn","say":"hold back water (card edge)"},{"at":3.036728257514051,"cue":"change","say":"hold back water (card edge)"},{"at":4.207730641246712,"cue":"warn","say":"all clear"},{"at":5.378733024979374,"cue":"change","say":"all clear"},{"at":12.72,"cue":"warn","say":"off"},{"at":14.72,"cue":"end","say":"off"}]},{"do":"wait","say":"burn sky (card, up from the horizon)","area":"sky","seconds":0.0,"filters":"grade 2 1/2","marks":[]},{"do":"expose","say":"burn sky (card, up from the horizon)","area":"sky","seconds":8.646543484971895,"filters":"grade 2 1/2","marks":[{"at":6.646543484971895,"cue":"warn","say":"off"},{"at":8.646543484971895,"cue":"end","say":"off"}]},{"do":"wait","say":"filters to grade 00; burn post (card with a hole)","area":"post","seconds":0.0,"filters":"grade 00","marks":[]},{"do":"expose","say":"burn post (card with a hole)","area":"post","seconds":4.6000000000000005,"filters":"grade 00","marks":[{"at":2.6000000000000005,"cue":"warn","say":"off"},{"at":4.6000000000000005,"cue":"end","say":"off"}]}],"patches":[],"notes":["dry-down: everything but a flash is 8 % shorter than the recipe says"],"paper":"silver"}','c67d739feac75ce25d51259198e536ac0ca78ccfcc9263d0a8c62ed1b4ed7f2e','# A recipe of our own invention, for the demonstration.
recipe = 1
title = "Hut by the water"
negative = "roll 14, frame 22"
notes = "the water wants to stay light; the sky needs weight"
base_s = 16.0
dry_down_percent = 8
order = ["hut", "water", "sky", "post"]

[paper]
name = "any resin-coated variable-contrast"
kind = "silver"

[enlargement]
frame = "24x36mm"
sheet = "8x10in"
lens_mm = 50
aperture = 8

[filters]
grade = "2 1/2"

[[dodge]]
area = "hut"
stops = "1/3"
tool = "small disc"
motion = "circling, hand high"
outline = { ellipse = [0.28, 0.56, 0.12, 0.12], feather = 0.05 }

[[dodge]]
area = "water"
stops = "1/4"
tool = "card edge"
outline = { polygon = [[0.45, 0.75], [1.0, 0.65], [1.0, 1.0], [0.3, 1.0]], feather = 0.08 }

[[burn]]
area = "sky"
stops = "2/3"
tool = "card"
motion = "up from the horizon"
outline = { edge = "top", depth = 0.42, feather = 0.12 }

[[burn]]
area = "post"
seconds = 5
filters = { grade = "00" }
tool = "card with a hole"
outline = { ellipse = [0.62, 0.6, 0.04, 0.12], feather = 0.03 }
','simulated',0.0,0.0,NULL,'silver','2026-11-25T15:10:16.707+00:00');
INSERT INTO "run" VALUES(2,'2026-11-25T15:10:16.913+00:00','2026-11-25T15:10:17.173+00:00','finished','finished','strip','strip, 2 patches, 1/3 stop, from 0.2 s, cover','{"kind":"strip","title":"strip, 2 patches, 1/3 stop, from 0.2 s, cover","steps":[{"do":"wait","say":"nothing covered: the whole strip bare","area":"","seconds":0.0,"filters":"","marks":[]},{"do":"expose","say":"paper is bare","area":"patches 1 to 2","seconds":0.2,"filters":"","marks":[{"at":0.2,"cue":"end","say":"off"}]},{"do":"wait","say":"card on, over patch 1: 1 of 2 covered","area":"","seconds":0.0,"filters":"","marks":[]},{"do":"expose","say":"patch 2","area":"patch 2","seconds":0.05198420997897463,"filters":"","marks":[{"at":0.05198420997897463,"cue":"end","say":"off"}]}],"patches":[{"patch":1,"stops":0.0,"seconds":0.2,"filters":""},{"patch":2,"stops":0.3333333333333333,"seconds":0.25198420997897464,"filters":""}],"notes":["darkest: patch 2, the end never covered; lightest: patch 1, covered first"],"paper":""}','aff19f54f621f620a347b7c73ada61285b39308eeabd8eb69746284584a0b9c1','','simulated',0.0,0.0,NULL,'','2026-11-25T15:10:17.177+00:00');
CREATE INDEX run_state ON run (state);
COMMIT;
PRAGMA user_version = 1;
