// The book's tables, version by version: migration n takes a book of version n - 1 to version n.
#pragma once

#include <array>
#include <string_view>

namespace calcant {

inline constexpr std::array<std::string_view, 5> book_migrations{R"sql(
CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE visit (
  id INTEGER PRIMARY KEY, date TEXT NOT NULL, who TEXT NOT NULL, work TEXT NOT NULL, celsius REAL) STRICT;
CREATE TABLE fault (
  id INTEGER PRIMARY KEY, stop TEXT NOT NULL, division TEXT NOT NULL, midi INTEGER, rank TEXT NOT NULL,
  pipe INTEGER NOT NULL, kind TEXT NOT NULL, words TEXT NOT NULL, heard_when TEXT NOT NULL, reported TEXT NOT NULL,
  celsius REAL, closed TEXT NOT NULL DEFAULT '', visit INTEGER REFERENCES visit(id), remedy TEXT NOT NULL DEFAULT '') STRICT;
CREATE TABLE run (
  id INTEGER PRIMARY KEY, stop TEXT NOT NULL, date TEXT NOT NULL, celsius REAL, celsius_blower REAL, place TEXT NOT NULL,
  close INTEGER NOT NULL, recording TEXT NOT NULL, fingerprint TEXT NOT NULL, remark TEXT NOT NULL) STRICT;
CREATE TABLE run_note (
  run INTEGER NOT NULL REFERENCES run(id) ON DELETE CASCADE, place INTEGER NOT NULL, midi INTEGER NOT NULL,
  rank TEXT NOT NULL, pipe INTEGER NOT NULL, state TEXT NOT NULL, start_s REAL, hz REAL, cents REAL, cents_95 REAL,
  cents_in_run REAL, cents_in_run_95 REAL, ruled_by TEXT NOT NULL, rise_ms REAL, speech_ms REAL,
  room_limited INTEGER NOT NULL, level_db REAL, level_95 REAL, pipes_heard INTEGER NOT NULL, harmonics_db TEXT NOT NULL,
  PRIMARY KEY (run, place)) STRICT;
CREATE TABLE after_service (
  id INTEGER PRIMARY KEY, date TEXT NOT NULL, item TEXT NOT NULL, verdict TEXT NOT NULL, words TEXT NOT NULL) STRICT;
CREATE TABLE registration (name TEXT PRIMARY KEY, draw TEXT NOT NULL, saved TEXT NOT NULL, remark TEXT NOT NULL) STRICT;
CREATE TABLE trial_answer (
  id INTEGER PRIMARY KEY, date TEXT NOT NULL, place TEXT NOT NULL, first TEXT NOT NULL, second TEXT NOT NULL,
  keys TEXT NOT NULL, question TEXT NOT NULL, predicted TEXT NOT NULL, answered TEXT NOT NULL,
  undone INTEGER NOT NULL) STRICT;
)sql",
                                                                 R"sql(
ALTER TABLE visit ADD COLUMN stop TEXT NOT NULL DEFAULT '';
ALTER TABLE run_note ADD COLUMN heard INTEGER;
ALTER TABLE run_note ADD COLUMN sounds_at REAL NOT NULL DEFAULT 1;
ALTER TABLE run_note ADD COLUMN resolution_ms REAL;
ALTER TABLE run_note ADD COLUMN speaks_first INTEGER;
ALTER TABLE run_note ADD COLUMN chiff_db REAL;
ALTER TABLE run_note ADD COLUMN wind_noise_db REAL;
ALTER TABLE run_note ADD COLUMN unsteady_cents REAL;
ALTER TABLE run_note ADD COLUMN beat_hz REAL;
ALTER TABLE run_note ADD COLUMN beat_cents REAL;
ALTER TABLE run_note ADD COLUMN late_ms REAL;
ALTER TABLE run_note ADD COLUMN clipped INTEGER NOT NULL DEFAULT 0;
)sql",
                                                                 // Faults noted where the desk is out of reach are
                                                                 // handed in later, perhaps twice, under a key of their
                                                                 // own.
                                                                 R"sql(
CREATE TABLE handed_in (key TEXT PRIMARY KEY, fault INTEGER REFERENCES fault(id) ON DELETE SET NULL) STRICT;
)sql",
                                                                 // How a recording was cut up, so that it can be
                                                                 // corrected and measured again.
                                                                 R"sql(
ALTER TABLE run ADD COLUMN sides INTEGER NOT NULL DEFAULT 0;
ALTER TABLE run ADD COLUMN decisions TEXT NOT NULL DEFAULT '';
)sql",
                                                                 // What was heard in the coupler test; nothing in
                                                                 // `carries` where it settles nothing.
                                                                 R"sql(
CREATE TABLE coupler_heard (
  through TEXT NOT NULL, carried TEXT NOT NULL, date TEXT NOT NULL, heard TEXT NOT NULL, carries INTEGER,
  PRIMARY KEY (through, carried)) STRICT;
)sql"};

}  // namespace calcant
