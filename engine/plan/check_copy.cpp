#include "engine/plan/check_copy.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/playing/copy_words.hpp"

namespace calcant {
namespace {

// Whether what is drawn is what the word wants.
bool done(const Organ& organ, const CopyWord& w, const Registration& r) {
  const auto drawn = [&](StopIndex s) { return r.stops[static_cast<std::size_t>(s)]; };
  const auto usable = [&](const CopyStop& s) {
    return std::any_of(s.stops.begin(), s.stops.end(),
                       [&](StopIndex i) { return !organ.stops[static_cast<std::size_t>(i)].out_of_use; });
  };
  switch (w.kind) {
    case CopyKind::coupler_on: return w.coupler && r.couplers[static_cast<std::size_t>(*w.coupler)];
    case CopyKind::coupler_off: return w.coupler && !r.couplers[static_cast<std::size_t>(*w.coupler)];
    case CopyKind::box: {
      if (!w.box || !w.open) return false;
      const auto at = static_cast<double>(r.box[static_cast<std::size_t>(*w.box)]);
      return *w.open == 0.5 ? at > 0.1 && at < 0.9 : std::abs(at - *w.open) < 0.1;
    }
    case CopyKind::put_in:
      return std::none_of(w.stops.begin(), w.stops.end(),
                          [&](const CopyStop& s) { return std::any_of(s.stops.begin(), s.stops.end(), drawn); });
    case CopyKind::level:
    case CopyKind::stops:
    case CopyKind::add:
      return std::all_of(w.stops.begin(), w.stops.end(), [&](const CopyStop& s) {
        return !usable(s) || std::any_of(s.stops.begin(), s.stops.end(), drawn);
      });
    case CopyKind::unclear: break;
  }
  return false;
}

}  // namespace

std::vector<std::string> check_copy(const Organ& organ, const Item& item, const Score& score) {
  std::vector<std::string> out;
  const auto words_printed = copy_words(score, organ);
  std::vector<bool> told(words_printed.size());
  for (const Section& s : item.sections) {
    for (const CopyHeed& h : s.copy) {
      bool found = false;
      for (std::size_t i = 0; i < words_printed.size(); ++i) {
        const CopyWord& w = words_printed[i];
        if (w.text != h.text || w.wanted != h.wanted) continue;
        found = told[i] = true;
        if (h.followed && !done(organ, w, s.drawn))
          out.push_back(fmt::format("{}, {}: it says that the copy's \"{}\" is followed, and it is not.", item.title,
                                    s.label, h.text));
        break;
      }
      if (!found) out.push_back(fmt::format("{}, {}: \"{}\" is not in the copy.", item.title, s.label, h.text));
      if (!h.followed && h.instead.empty())
        out.push_back(
            fmt::format("{}, {}: why the copy's \"{}\" is not followed is not told.", item.title, s.label, h.text));
    }
  }
  for (std::size_t i = 0; i < words_printed.size(); ++i) {
    const CopyWord& w = words_printed[i];
    const bool off = w.kind == CopyKind::coupler_off || w.kind == CopyKind::put_in;
    if (told[i] || (off && !w.here)) continue;
    const bool remarked = std::any_of(item.remarks.begin(), item.remarks.end(), [&](const std::string& r) {
      return r.find("\"" + w.text + "\"") != std::string::npos;
    });
    const bool played =
        std::any_of(score.turns.begin(), score.turns.end(), [&](const Turn& t) { return t.bar == w.moment.bar_index; });
    if (!remarked && played)
      out.push_back(
          fmt::format("{}, {}: nothing is said of the copy's \"{}\".", item.title, words(score, w.moment), w.text));
  }
  return out;
}

}  // namespace calcant
