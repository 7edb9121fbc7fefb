// The tuning and fault book of one organ: what was measured, what went wrong, who came, what was said after a
// service.
//
// One SQLite file, `organ.book`, in the organ folder. Every change is one transaction, on the disk before the
// function returns: a kill at any moment loses nothing already saved. An older book is copied beside itself
// (`organ.book.before-vN`) and brought up to date when opened; a newer one is refused. Dates are ISO 8601 and
// are always passed in. Ids of stops and ranks are kept as written: what no longer exists in the organ file
// is told, never dropped.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

using EntryId = std::int64_t;

// What a fault is, in the words of the trade; `other` keeps the player's own.
enum class FaultKind {
  dead,
  cipher,
  late,
  slow,
  out_of_tune,
  off_speech,
  weak,
  unsteady,
  running,
  noise,
  out_of_use,
  other
};
[[nodiscard]] std::string_view word(FaultKind k);  // "out of tune"
[[nodiscard]] std::optional<FaultKind> fault_kind(std::string_view word);

struct BookFault {
  EntryId id = 0;
  std::string stop;         // id of the stop; empty: the whole division
  std::string division;     // id
  std::optional<Note> key;  // empty: the whole stop
  std::string rank;         // id of the rank the pipe stands in (the lender's, for a borrowed note)
  int pipe = 0;             // its number in the rank; 0 without a note
  FaultKind kind = FaultKind::other;
  std::string words;                   // as it was said: "F#2 dead"
  std::string when;                    // "cold", "now and then", "after ten minutes"
  std::string reported;                // date
  std::optional<Celsius> temperature;  // when it was heard
  std::string closed;                  // date; empty while open
  std::optional<EntryId> visit;        // the visit that closed it
  std::string remedy;                  // what was found and done

  friend bool operator==(const BookFault&, const BookFault&) = default;
};

struct Visit {
  EntryId id = 0;
  std::string date;
  std::string who;  // stays in the book; never on a public sheet
  std::string work;
  std::optional<Celsius> temperature;
  std::string stop{};  // id: what was seen to; empty: the whole organ
};

// A run: one stop played through into one recording, with its conditions.
struct Run {
  EntryId id = 0;
  std::string stop;  // id
  std::string date;
  std::optional<Celsius> temperature;  // at the pipes
  std::optional<Celsius> at_blower;    // where the blower draws
  std::string place;                   // of the microphone: "nave, row 3", "at the mouths"
  bool close = false;                  // near enough for speech and spectrum to be the pipe's and not the room's
  std::string recording;               // file name, not its path
  std::string fingerprint;             // of the recording's bytes
  std::string remark;
  bool sides = false;       // played C side first, then C sharp side; else straight up
  std::string decisions{};  // how the recording was cut up (docs/reference/decisions.md); empty: not written down
};
// One note of a run: figures may be missing where they could not be had.
struct RunNote {
  Note key;
  std::string rank;  // id, and pipe number: a borrowed note is credited to the lender
  int pipe = 0;
  std::string state;  // speaks, dead, cipher, wrong, unsure
  std::optional<double> start_s;
  std::optional<Hertz> hz;
  std::optional<Cents> cents;  // against the organ's pitch at the stated temperature
  std::optional<Cents> cents_95;
  std::optional<Cents> cents_in_run;  // against the run's own mean
  std::optional<Cents> cents_in_run_95;
  std::string ruled_by;
  std::optional<double> rise_ms;
  std::optional<double> speech_ms;
  bool room_limited = false;
  std::optional<Decibels> level;  // against the run's median
  std::optional<Decibels> level_95;
  int pipes_heard = 1;
  std::vector<double> harmonics_db;       // full-scale sine = 0; below noise -200
  std::optional<Note> heard{};            // wrong: what was heard instead
  double sounds_at = 1.0;                 // 2: the octave speaks, 3: the twelfth, 1.5: the fifth
  std::optional<double> resolution_ms{};  // nothing shorter can be told of its speech
  std::optional<int> speaks_first{};      // harmonic heard before the fundamental
  std::optional<Decibels> chiff{};
  std::optional<Decibels> wind_noise{};
  std::optional<Cents> unsteady{};
  std::optional<Hertz> beat{};  // of a second pipe's fundamental with the first's
  std::optional<Cents> beat_apart{};
  std::optional<double> late_ms{};
  bool clipped = false;

  friend bool operator==(const RunNote&, const RunNote&) = default;
};

// One line after a service: "too thin", "right", "too strong", "a fault".
struct AfterService {
  EntryId id = 0;
  std::string date;
  std::string item;  // "hymn 2, St Anne", as on the cue sheet
  std::string verdict;
  std::string words;
};

// A registration saved by name, in words ("Open Diapason 8, Swell to Great, Swell box=0").
struct SavedRegistration {
  std::string name;
  std::string draw;
  std::string saved;  // date
  std::string remark;
};

// One pair of the blind ear trial and what the ear said.
struct TrialAnswer {
  EntryId id = 0;
  std::string date;
  std::string place;
  std::string first;  // registrations in words, and the keys they were heard on
  std::string second;
  std::string keys;
  std::string question;   // "louder", "brighter"
  std::string predicted;  // first, second, same
  std::string answered;   // first, second, same; empty: not yet
  bool undone = false;    // taken back: kept, but counts no more
};

// What was heard in one step of the coupler test at the console.
struct CouplerHeard {
  std::string through;  // id of the coupler that brings the notes
  std::string carried;  // id of the one that may act on them
  std::string date;
  std::string heard;            // "two pitches"
  std::optional<bool> carries;  // what it settles; nothing: neither

  friend bool operator==(const CouplerHeard&, const CouplerHeard&) = default;
};

class Book {
 public:
  // Opens or makes the book. organ_id: whose book it is; another organ's book is refused.
  [[nodiscard]] static Result<Book> open(const std::string& path, std::string_view organ_id);
  ~Book();
  Book(Book&&) noexcept;
  Book& operator=(Book&&) noexcept;

  [[nodiscard]] Result<EntryId> add(const BookFault& f);
  // Handed in under a key of the sender's own: the same key again adds nothing, and `fault` is the one it stood for
  // (empty when that was taken back meanwhile).
  struct HandedIn {
    std::optional<EntryId> fault;
    bool before = false;
  };
  [[nodiscard]] Result<HandedIn> hand_in(const BookFault& f, std::string_view key);
  // A slip of the finger: as if it had never been noted.
  [[nodiscard]] Result<void> take_back_fault(EntryId id);
  [[nodiscard]] Result<void> close_fault(EntryId id, std::string_view date, std::string_view remedy,
                                         std::optional<EntryId> visit = std::nullopt);
  [[nodiscard]] Result<void> reopen_fault(EntryId id);
  // Open ones on a date (reported by then and not closed by then); all when `on` is empty. Oldest first.
  [[nodiscard]] Result<std::vector<BookFault>> faults_open(std::string_view on) const;
  [[nodiscard]] Result<std::vector<BookFault>> faults() const;

  // A visit and the open faults it closes, with its work as their remedy: all of it or nothing.
  [[nodiscard]] Result<EntryId> add(const Visit& v, const std::vector<EntryId>& closes = {});
  [[nodiscard]] Result<std::vector<Visit>> visits() const;  // oldest first

  // A run and its notes, whole or not at all.
  [[nodiscard]] Result<EntryId> add(const Run& run, const std::vector<RunNote>& notes);
  [[nodiscard]] Result<std::vector<Run>> runs() const;  // oldest first
  [[nodiscard]] Result<std::vector<RunNote>> notes(EntryId run) const;
  // What a run shows, measured again after its decisions were corrected: notes, decisions and remark in place of those
  // there, all or none. Refused where the decisions there are no longer `were`.
  [[nodiscard]] Result<void> correct_run(const Run& run, const std::vector<RunNote>& notes, std::string_view were);
  [[nodiscard]] Result<void> remove_run(EntryId run);

  [[nodiscard]] Result<EntryId> add(const AfterService& line);
  // The same, in place of what was said of that item on that date before; an empty verdict only takes that away.
  [[nodiscard]] Result<void> say_after(const AfterService& line);
  [[nodiscard]] Result<std::vector<AfterService>> after_services() const;

  [[nodiscard]] Result<void> save(const SavedRegistration& r);  // a name already there is replaced
  [[nodiscard]] Result<void> forget_registration(std::string_view name);
  // In one step: at no moment is it there under both names, or under none. `to` must be free.
  [[nodiscard]] Result<void> rename_registration(std::string_view name, std::string_view to);
  [[nodiscard]] Result<std::vector<SavedRegistration>> registrations() const;  // by name

  [[nodiscard]] Result<EntryId> add(const TrialAnswer& a);
  // The pairs of a sheet, and answers to them: all or none. An answer given again replaces the one before, an empty one
  // takes it back; the pair must be there.
  [[nodiscard]] Result<void> add(const std::vector<TrialAnswer>& pairs);
  struct Answered {
    EntryId id;
    std::string answered;
  };
  [[nodiscard]] Result<void> answer(const std::vector<Answered>& answers);
  [[nodiscard]] Result<void> undo_trial(std::string_view date);  // all answers of that date
  // Pairs that were taken back count again: all of them or none.
  [[nodiscard]] Result<void> restore_trial(const std::vector<EntryId>& pairs);
  [[nodiscard]] Result<std::vector<TrialAnswer>> trial() const;

  // In place of what was heard of that pair before; with nothing heard that is only taken away.
  [[nodiscard]] Result<void> hear(const CouplerHeard& h);
  [[nodiscard]] Result<std::vector<CouplerHeard>> couplers_heard() const;

  // Everything, table by table, for other programs and for ever: JSON text, or CSV files in a folder.
  [[nodiscard]] Result<std::string> export_json() const;
  [[nodiscard]] Result<void> export_csv(const std::string& folder) const;
  // A whole copy while the book stays open and in use (SQLite's online backup).
  [[nodiscard]] Result<void> copy_to(const std::string& path) const;

 private:
  struct Store;
  explicit Book(std::unique_ptr<Store> store);
  std::unique_ptr<Store> store_;
};

// The version of the format this program writes.
inline constexpr int book_version = 5;

}  // namespace calcant
