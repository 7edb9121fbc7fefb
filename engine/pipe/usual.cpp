#include "engine/pipe/usual.hpp"

namespace calcant {

Usual usual(const Rank& rank) {
  if (rank.form == Form::stopped) return {4, 0.25, 0.36};
  if (rank.form == Form::chimney) return {6, 0.25, 0.34};
  switch (rank.family) {
    case Family::flute: return {rank.form == Form::tapered ? 3.0 : 7.0, 0.25, 0.32};
    case Family::string: return {-9, 0.20, 0.28};
    case Family::reed: return {0, 0.25, 0.25};
    case Family::principal: break;
  }
  // A rank that breaks belongs to a mixture, and those are narrow.
  if (rank.pitch.size() > 1) return {-4, 0.25, 0.24};
  return {rank.form == Form::tapered ? -2.0 : 0.0, 0.25, 0.25};
}

}  // namespace calcant
