#include <algorithm>

#include "engine/score/score.hpp"

namespace calcant {

Tempo::Tempo(const Score& s, double fallback_quarters_per_minute, std::optional<double> overrule) {
  std::vector<const Direction*> marks;
  for (const Direction& d : s.directions) {
    if (d.kind == Direction::Kind::tempo && d.quarters_per_minute > 0) marks.push_back(&d);
  }
  spans_.push_back({Rational{}, 0.0, fallback_quarters_per_minute});
  assumed_ = true;
  for (const Turn& turn : s.turns) {
    const auto first = std::lower_bound(marks.begin(), marks.end(), turn.bar,
                                        [](const Direction* d, int bar) { return d->bar < bar; });
    for (auto mark = first; mark != marks.end() && (*mark)->bar == turn.bar; ++mark) {
      const Rational from = turn.start + (*mark)->at;
      Span& last = spans_.back();
      if (from <= last.from) {
        if (from == Rational{}) assumed_ = false;
        last.quarters_per_minute = (*mark)->quarters_per_minute;
        continue;
      }
      const double seconds = (from - last.from).to_double() * 60.0 / last.quarters_per_minute;
      spans_.push_back({from, last.start_seconds + seconds, (*mark)->quarters_per_minute});
    }
  }
  if (!overrule) return;
  assumed_ = false;
  const double factor = *overrule / spans_.front().quarters_per_minute;
  for (Span& span : spans_) {
    span.quarters_per_minute *= factor;
    span.start_seconds /= factor;
  }
}

const Tempo::Span& Tempo::span_at(Rational performed) const {
  const auto next = std::upper_bound(spans_.begin(), spans_.end(), performed,
                                     [](const Rational& t, const Span& span) { return t < span.from; });
  return next == spans_.begin() ? *next : *(next - 1);
}

Seconds Tempo::at(Rational performed) const {
  const Span& span = span_at(performed);
  return Seconds{span.start_seconds + (performed - span.from).to_double() * 60.0 / span.quarters_per_minute};
}

double Tempo::quarters_per_minute(Rational performed) const { return span_at(performed).quarters_per_minute; }

}  // namespace calcant
