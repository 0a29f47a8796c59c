#include "archive/schema_steps.h"

namespace rookery::archive::schema {

// Times are microseconds since 1970-01-01 UTC. Recordings hang on `recorded`, not on `camera`, because they
// outlive the camera's settings.
const char* const kStep1 = R"sql(
CREATE TABLE camera(
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  position INTEGER NOT NULL,
  title TEXT NOT NULL,
  source TEXT NOT NULL CHECK(source IN ('stream', 'stills', 'pushed')),
  stream_address TEXT NOT NULL,
  still_address TEXT NOT NULL,
  user TEXT NOT NULL,
  password BLOB,                     -- sealed (secret_box.h); null: none
  poll_every_ms INTEGER NOT NULL,
  enabled INTEGER NOT NULL,
  recording INTEGER NOT NULL,
  keep_for_h INTEGER,
  keep_bytes INTEGER
);

CREATE TABLE recorded(               -- one row for each camera that ever recorded
  id INTEGER PRIMARY KEY,
  camera TEXT NOT NULL UNIQUE,
  segments INTEGER NOT NULL DEFAULT 0,
  bytes INTEGER NOT NULL DEFAULT 0,
  longest_us INTEGER NOT NULL DEFAULT 0  -- no segment is longer: bounds the search for those that overlap
);

CREATE TABLE segment(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  path TEXT NOT NULL UNIQUE,
  start_us INTEGER NOT NULL,
  end_us INTEGER NOT NULL,
  frames INTEGER NOT NULL,
  bytes INTEGER NOT NULL,
  open INTEGER NOT NULL,
  kept INTEGER NOT NULL
);
CREATE INDEX segment_by_start ON segment(recorded, start_us);
CREATE INDEX segment_open ON segment(id) WHERE open = 1;
CREATE INDEX segment_loose ON segment(start_us) WHERE open = 0 AND kept = 0;
CREATE INDEX segment_loose_of ON segment(recorded, start_us) WHERE open = 0 AND kept = 0;

CREATE TRIGGER segment_added AFTER INSERT ON segment BEGIN
  UPDATE recorded SET segments = segments + 1, bytes = bytes + NEW.bytes,
    longest_us = max(longest_us, NEW.end_us - NEW.start_us) WHERE id = NEW.recorded;
END;
CREATE TRIGGER segment_grown AFTER UPDATE OF bytes, start_us, end_us ON segment BEGIN
  UPDATE recorded SET bytes = bytes + NEW.bytes - OLD.bytes,
    longest_us = max(longest_us, NEW.end_us - NEW.start_us) WHERE id = NEW.recorded;
END;
CREATE TRIGGER segment_removed AFTER DELETE ON segment BEGIN
  UPDATE recorded SET segments = segments - 1, bytes = bytes - OLD.bytes WHERE id = OLD.recorded;
END;

CREATE TABLE strip(
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  hour INTEGER NOT NULL,             -- hours since 1970-01-01 UTC
  steps BLOB NOT NULL,               -- 360 times {energy, health}
  PRIMARY KEY(recorded, hour)
) WITHOUT ROWID;

CREATE TABLE person(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  folded TEXT NOT NULL UNIQUE,       -- the name without regard to case
  role TEXT NOT NULL CHECK(role IN ('owner', 'viewer')),
  password TEXT NOT NULL,            -- Argon2id
  all_cameras INTEGER NOT NULL
);
CREATE TABLE person_camera(          -- what a viewer with all_cameras = 0 may see
  person INTEGER NOT NULL REFERENCES person(id) ON DELETE CASCADE,
  camera INTEGER NOT NULL REFERENCES camera(id) ON DELETE CASCADE,
  PRIMARY KEY(person, camera)
) WITHOUT ROWID;
CREATE INDEX person_camera_by_camera ON person_camera(camera);

CREATE TABLE session(
  hash BLOB PRIMARY KEY,
  person INTEGER NOT NULL REFERENCES person(id) ON DELETE CASCADE,
  expires_us INTEGER NOT NULL
) WITHOUT ROWID;
CREATE INDEX session_by_person ON session(person);
CREATE INDEX session_by_expiry ON session(expires_us);

CREATE TABLE one_time_code(
  hash BLOB PRIMARY KEY,
  person INTEGER NOT NULL REFERENCES person(id) ON DELETE CASCADE,
  expires_us INTEGER NOT NULL
) WITHOUT ROWID;
CREATE INDEX one_time_code_by_person ON one_time_code(person);
CREATE INDEX one_time_code_by_expiry ON one_time_code(expires_us);

CREATE TABLE token(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  camera INTEGER NOT NULL REFERENCES camera(id) ON DELETE CASCADE,
  hash BLOB NOT NULL UNIQUE,
  label TEXT NOT NULL,
  made_us INTEGER NOT NULL,
  last_used_us INTEGER,
  may_push INTEGER NOT NULL
);
CREATE INDEX token_by_camera ON token(camera);

CREATE TABLE settings_version(
  id INTEGER PRIMARY KEY CHECK(id = 1),
  number INTEGER NOT NULL
);
INSERT INTO settings_version VALUES(1, 1);
)sql";

const char* const kStep2 = R"sql(
CREATE TABLE age_clock(              -- how late it is, as far as the station has seen time pass
  id INTEGER PRIMARY KEY CHECK(id = 1),
  trusted_us INTEGER NOT NULL,
  wall_us INTEGER NOT NULL,          -- what the computer's clock said then
  steady_us INTEGER NOT NULL,        -- how long they have disagreed since the clock was set
  confirmations INTEGER NOT NULL     -- grows each time that a person says the clock is right
);
)sql";

const char* const kStep3 = R"sql(
ALTER TABLE camera ADD COLUMN record TEXT NOT NULL DEFAULT 'always'
  CHECK(record IN ('always', 'events', 'never'));
UPDATE camera SET record = 'never' WHERE recording = 0;
ALTER TABLE camera DROP COLUMN recording;
ALTER TABLE camera ADD COLUMN pre_roll_ms INTEGER NOT NULL DEFAULT 5000;
ALTER TABLE camera ADD COLUMN post_roll_ms INTEGER NOT NULL DEFAULT 10000;
ALTER TABLE camera ADD COLUMN sensitivity INTEGER NOT NULL DEFAULT 3;
ALTER TABLE camera ADD COLUMN mask TEXT NOT NULL DEFAULT '';  -- vision/mask.h; empty: none

ALTER TABLE recorded ADD COLUMN longest_event_us INTEGER NOT NULL DEFAULT 0;  -- as longest_us

CREATE TABLE event(
  id INTEGER PRIMARY KEY,            -- given by the station, which alone adds events
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  cause TEXT NOT NULL,               -- motion, lighting, view
  start_us INTEGER NOT NULL,
  end_us INTEGER NOT NULL,           -- while under way: as far as it is known
  under_way INTEGER NOT NULL,
  peak REAL NOT NULL,                -- shares of the picture, 0 to 1; as are the next four
  x REAL NOT NULL,
  y REAL NOT NULL,
  w REAL NOT NULL,
  h REAL NOT NULL,
  best_us INTEGER NOT NULL,
  kept INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX event_by_start ON event(start_us, id);
CREATE INDEX event_of ON event(recorded, start_us, id);
CREATE INDEX event_kept ON event(recorded, start_us) WHERE kept = 1;
CREATE INDEX event_under_way ON event(id) WHERE under_way = 1;

CREATE TRIGGER event_added AFTER INSERT ON event BEGIN
  UPDATE recorded SET longest_event_us = max(longest_event_us, NEW.end_us - NEW.start_us)
    WHERE id = NEW.recorded;
END;
CREATE TRIGGER event_grown AFTER UPDATE OF start_us, end_us ON event BEGIN
  UPDATE recorded SET longest_event_us = max(longest_event_us, NEW.end_us - NEW.start_us)
    WHERE id = NEW.recorded;
END;

CREATE TABLE motion_state(           -- what each camera's detector has learned, to go on after a restart
  recorded INTEGER PRIMARY KEY REFERENCES recorded(id),
  saved_us INTEGER NOT NULL,
  state BLOB NOT NULL                -- docs/motion.md
);
)sql";

const char* const kStep4 = R"sql(
CREATE TABLE receiver(               -- where notices go
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE,
  enabled INTEGER NOT NULL,
  kind TEXT NOT NULL,                -- webhook, mqtt, mail
  way TEXT NOT NULL,                 -- its settings but for the secret, JSON
  secret BLOB,                       -- sealed (secret_box.h); null: none
  delivered INTEGER NOT NULL DEFAULT 0,
  given_up INTEGER NOT NULL DEFAULT 0,
  dropped INTEGER NOT NULL DEFAULT 0 -- because too many were waiting
);
CREATE TABLE rule(                   -- which events make notices
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE,
  enabled INTEGER NOT NULL,
  causes TEXT NOT NULL,              -- words with commas between them
  all_cameras INTEGER NOT NULL,      -- 0: those in rule_camera
  least_peak REAL NOT NULL,
  days INTEGER NOT NULL,             -- bit 0 Monday … bit 6 Sunday
  from_min INTEGER NOT NULL,         -- local time, minutes since midnight
  until_min INTEGER NOT NULL,
  quiet_s INTEGER NOT NULL,
  at_end INTEGER NOT NULL,
  snoozed_until_us INTEGER
);
CREATE TABLE rule_receiver(
  rule INTEGER NOT NULL REFERENCES rule(id) ON DELETE CASCADE,
  receiver INTEGER NOT NULL REFERENCES receiver(id) ON DELETE CASCADE,
  PRIMARY KEY(rule, receiver)
) WITHOUT ROWID;
CREATE INDEX rule_receiver_by_receiver ON rule_receiver(receiver);
CREATE TABLE rule_camera(            -- by name: a rule outlives a camera
  rule INTEGER NOT NULL REFERENCES rule(id) ON DELETE CASCADE,
  camera TEXT NOT NULL,
  PRIMARY KEY(rule, camera)
) WITHOUT ROWID;
CREATE TABLE snooze(
  id INTEGER PRIMARY KEY CHECK(id = 1),
  until_us INTEGER NOT NULL
);

CREATE TABLE notice(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  receiver INTEGER NOT NULL REFERENCES receiver(id) ON DELETE CASCADE,
  rule INTEGER,                      -- null: a test, or an end that was owed
  event INTEGER,
  camera TEXT NOT NULL,
  title TEXT NOT NULL,
  what TEXT NOT NULL,                -- begun, ended, test
  motion INTEGER NOT NULL,           -- 1: it switches the camera's state of motion, where there is one
  made_us INTEGER NOT NULL,
  state TEXT NOT NULL CHECK(state IN ('waiting', 'delivered', 'given-up', 'dropped')),
  tries INTEGER NOT NULL DEFAULT 0,
  next_us INTEGER NOT NULL,          -- when it is tried, or tried again
  done_us INTEGER,
  answer TEXT NOT NULL DEFAULT '',   -- to the last try
  body TEXT NOT NULL,                -- the event as JSON
  still BLOB                         -- until it is done
);
CREATE INDEX notice_waiting ON notice(receiver, id) WHERE state = 'waiting';
CREATE INDEX notice_done ON notice(receiver, id) WHERE state <> 'waiting';
CREATE INDEX notice_of_rule ON notice(rule, camera, made_us) WHERE what = 'begun';
CREATE TABLE owed_end(               -- what receivers that show a state were told has begun, and not yet its end
  receiver INTEGER NOT NULL REFERENCES receiver(id) ON DELETE CASCADE,
  event INTEGER NOT NULL,
  camera TEXT NOT NULL,
  title TEXT NOT NULL,
  motion INTEGER NOT NULL,
  PRIMARY KEY(receiver, event)
) WITHOUT ROWID;
)sql";

const char* const kStep5 = R"sql(
CREATE TABLE vitals_minute(          -- of the days that are not packed yet
  minute INTEGER NOT NULL,           -- since 1970-01-01 UTC; first, so that what is added stands together
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  codes BLOB NOT NULL,               -- docs/formats/vitals.md
  PRIMARY KEY(minute, recorded)
) WITHOUT ROWID;
CREATE TABLE vitals_day(
  id INTEGER PRIMARY KEY,            -- not WITHOUT ROWID: rows this long would waste half of their last page
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  day INTEGER NOT NULL,              -- since 1970-01-01 UTC
  minutes BLOB NOT NULL,
  UNIQUE(recorded, day)
);
CREATE INDEX vitals_day_by_day ON vitals_day(day);
CREATE TABLE board(                  -- what is known of a camera's board, to know it again at another address
  camera INTEGER PRIMARY KEY REFERENCES camera(id) ON DELETE CASCADE,
  host TEXT NOT NULL,                -- in the camera's addresses when this was learned
  hardware TEXT NOT NULL,            -- "00:00:5e:00:53:11"; "": not known, as in the next three
  announced TEXT NOT NULL,           -- its service's name
  announced_host TEXT NOT NULL,
  fingerprint TEXT NOT NULL,         -- of its answers
  seen_us INTEGER NOT NULL,
  moved_from TEXT,                   -- the last time that the station followed it; null: never
  moved_to TEXT,
  moved_us INTEGER
);
)sql";

const char* const kStep6 = R"sql(
CREATE TABLE dropout(                -- when pictures stopped, and what was told of it
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  began_us INTEGER NOT NULL,         -- the last picture before
  back_us INTEGER,                   -- null: not back when it was told
  cause TEXT NOT NULL,               -- supply, radio, hang, network, viewer, sensor, station; "": none is named
  restarted INTEGER NOT NULL,        -- 1: the board did
  streamed_s REAL NOT NULL,          -- how old the connection was
  uptime_s REAL,                     -- the board's own clock before; null: not known
  booted_after_s REAL,               -- it started so long after began_us; null: it did not, or not known
  told TEXT NOT NULL,                -- verdict, evidence, remedy, ranked causes: JSON as in docs/api.md
  PRIMARY KEY(recorded, began_us)
) WITHOUT ROWID;
)sql";

// A token's use was a flag while there were two; the trigger that watches it names the column.
const char* const kStep7 = R"sql(
DROP TRIGGER token_settings_UPDATE;
ALTER TABLE token ADD COLUMN use TEXT NOT NULL DEFAULT 'watch' CHECK(use IN ('watch', 'push', 'report'));
UPDATE token SET use = 'push' WHERE may_push = 1;
ALTER TABLE token DROP COLUMN may_push;
CREATE TRIGGER token_settings_UPDATE AFTER UPDATE OF camera, hash, label, use ON token BEGIN
  UPDATE settings_version SET number = number + 1; END;

ALTER TABLE segment ADD COLUMN stills INTEGER NOT NULL DEFAULT 0;  -- 1: a job's, as its path says
CREATE INDEX segment_stills ON segment(recorded, start_us) WHERE stills = 1;

ALTER TABLE event ADD COLUMN detail TEXT NOT NULL DEFAULT '';  -- of cause job: the sign
ALTER TABLE event ADD COLUMN job INTEGER;

CREATE TABLE job(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  recorded INTEGER NOT NULL REFERENCES recorded(id),
  label TEXT NOT NULL,
  began_by TEXT NOT NULL,            -- hand, schedule, hook, watch
  start_us INTEGER NOT NULL,
  end_us INTEGER,                    -- null: under way
  ending TEXT,                       -- finished, failed, ended
  expected_s INTEGER,
  good INTEGER,                      -- a person's judgement; null: none
  lasted_s REAL NOT NULL DEFAULT 0,  -- what it was like; the next three too
  longest_quiet_s REAL NOT NULL DEFAULT 0,
  moving_share REAL NOT NULL DEFAULT 0,
  grown_share REAL NOT NULL DEFAULT 0
);
CREATE INDEX job_by_start ON job(start_us, id);
CREATE INDEX job_of ON job(recorded, start_us, id);
CREATE UNIQUE INDEX job_under_way ON job(recorded) WHERE end_us IS NULL;
CREATE TABLE job_step(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  job INTEGER NOT NULL REFERENCES job(id) ON DELETE CASCADE,
  at_us INTEGER NOT NULL,
  voice TEXT NOT NULL,               -- as job.began_by
  what TEXT NOT NULL,
  note TEXT NOT NULL,
  is_over INTEGER NOT NULL,
  strength REAL NOT NULL,
  sure INTEGER NOT NULL,
  before_us INTEGER,                 -- a picture from before it was so
  x REAL NOT NULL,                   -- shares of the picture, as are the next three
  y REAL NOT NULL,
  w REAL NOT NULL,
  h REAL NOT NULL
);
CREATE INDEX job_step_of ON job_step(job, id);
CREATE TABLE job_state(              -- what the watch of a job has learned, to go on after a restart
  job INTEGER PRIMARY KEY REFERENCES job(id) ON DELETE CASCADE,
  saved_us INTEGER NOT NULL,
  state BLOB NOT NULL                -- docs/job-watch.md
);
CREATE TABLE film(                   -- of a job: its lapse; the file is films/JOB.mp4
  job INTEGER PRIMARY KEY REFERENCES job(id) ON DELETE CASCADE,
  length_s REAL NOT NULL,
  state TEXT NOT NULL CHECK(state IN ('wanted', 'made', 'failed')),
  turn INTEGER NOT NULL,             -- grows from one wish to the next
  bytes INTEGER NOT NULL DEFAULT 0,
  made_us INTEGER,
  told TEXT NOT NULL DEFAULT ''      -- why it failed, or what is to be known of it
);
CREATE TABLE job_settings(
  camera INTEGER PRIMARY KEY REFERENCES camera(id) ON DELETE CASCADE,
  settings TEXT NOT NULL             -- JSON, as in docs/api.md
);
)sql";

const char* const kStep8 = R"sql(
CREATE TABLE export(                 -- or a lapse, that a person asked for; the file is exports/ID.ENDING
  turn INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,           -- random: an address that cannot be guessed
  person INTEGER NOT NULL REFERENCES person(id) ON DELETE CASCADE,
  asked_us INTEGER NOT NULL,
  ask TEXT NOT NULL,                 -- camera, span and choices, JSON
  begun INTEGER NOT NULL DEFAULT 0,  -- so often the program ended while it was made
  outcome TEXT NOT NULL DEFAULT ''   -- JSON; "": it is to be made
);
CREATE INDEX export_by_person ON export(person);
)sql";

const char* const kStep9 = R"sql(
ALTER TABLE film ADD COLUMN begun INTEGER NOT NULL DEFAULT 0;  -- so often its making broke off, as in export
)sql";

}  // namespace rookery::archive::schema
