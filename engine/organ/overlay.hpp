// What measuring and the day lay over the description: apply(Organ, Overlay) gives the organ as it is known,
// or as it is today. The description itself is never rewritten.
//
// One rule decides between figures (replaces(), sourced.hpp): pipe before rank before family; at the same
// level measured > given > computed > assumed, newer before older. What loses is kept and can be shown.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"

namespace calcant {

struct Overlay {
  // What it is about: a date and where it was read from, shown wherever it was used.
  std::string day;
  std::string origin;

  struct DeadPipe {
    std::string rank;  // id
    int number;        // pipe, counted from the rank's lowest
    std::string note;  // what the fault book says
  };
  struct PipeFigure {
    std::string rank;
    int number;
    Sourced<double> value;
  };
  // The steady spectrum of one pipe: levels of its partials 1, 2, 3 ... in dB of any origin. It counts as measured only
  // from a close microphone or at least three places.
  struct PipeSpectrum {
    std::string rank;
    int number;
    Sourced<std::vector<double>> partials;
  };
  struct RankFigure {
    std::string rank;
    Sourced<double> value;
  };
  // What was heard at the console of one pair of couplers: does the second act on the notes the first brings?
  struct CouplerHeard {
    std::string through;  // id of the coupler that brings the notes
    std::string carried;  // id of the one that acts on them, or does not
    bool carries;
    std::string date;
  };
  std::vector<DeadPipe> dead;
  std::vector<std::string> stops_out_of_use;  // ids
  std::vector<RankFigure> rank_loudness;      // dB against what its kind and scale predict
  std::vector<PipeFigure> pipe_level;         // dB against the rank's own modelled level
  std::vector<PipeFigure> pipe_cents;         // cents off
  std::vector<PipeSpectrum> pipe_spectrum;
  std::vector<CouplerHeard> couplers;
  std::optional<Sourced<Celsius>> temperature;  // of the day, at the pipes
};

// A figure that was laid over another, for "where each figure comes from".
struct Overruled {
  std::string of;    // "rank sw-oboe, loudness"
  std::string kept;  // "+2 dB, measured 2026-03-01"
  std::string lost;  // "0 dB, assumed"
};
struct Applied {
  Organ organ;
  std::vector<Overruled> overruled;
  std::vector<std::string>
      orphans;  // what names a rank, pipe, stop or coupler this organ does not have: told, never dropped
};
// Dead pipes and stops out of use add to those the organ already has; what was heard of couplers stands unless the organ
// itself was tried later.
[[nodiscard]] Applied apply(const Organ& organ, const Overlay& overlay);

}  // namespace calcant
