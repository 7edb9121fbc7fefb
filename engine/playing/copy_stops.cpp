#include "engine/playing/copy_stops.hpp"

#include <algorithm>
#include <array>
#include <cctype>

namespace calcant {

namespace {

struct Named {
  std::string_view word;
  std::string_view division;
};
constexpr std::array divisions_named{Named{"gt", "Great"},       Named{"great", "Great"}, Named{"sw", "Swell"},
                                     Named{"swell", "Swell"},    Named{"ch", "Choir"},    Named{"choir", "Choir"},
                                     Named{"positive", "Choir"}, Named{"ped", "Pedal"},   Named{"pedal", "Pedal"},
                                     Named{"pedals", "Pedal"}};

// What a stop of that name usually is; 127 semitones: of any pitch. Usual for the name, no source.
constexpr int any_pitch = 127;
struct Kind {
  std::string_view word;
  Family family;
  int semitones;  // above 8 ft
};
constexpr std::array kinds{Kind{"diap", Family::principal, 0},
                           Kind{"principal", Family::principal, 12},
                           Kind{"princ", Family::principal, 12},
                           Kind{"octave", Family::principal, 12},
                           Kind{"gemshorn", Family::principal, 12},
                           Kind{"twelfth", Family::principal, 19},
                           Kind{"fifteenth", Family::principal, 24},
                           Kind{"flute", Family::flute, any_pitch},
                           Kind{"ged", Family::flute, 0},
                           Kind{"clarabella", Family::flute, 0},
                           Kind{"claribel", Family::flute, 0},
                           Kind{"hohl", Family::flute, 0},
                           Kind{"melodia", Family::flute, 0},
                           Kind{"lieblich", Family::flute, any_pitch},
                           Kind{"bourdon", Family::flute, -12},
                           Kind{"dulc", Family::string, 0},
                           Kind{"salic", Family::string, 0},
                           Kind{"gamba", Family::string, 0},
                           Kind{"viol", Family::string, 0},
                           Kind{"aeoline", Family::string, 0},
                           Kind{"oboe", Family::reed, 0},
                           Kind{"hautboy", Family::reed, 0},
                           Kind{"trumpet", Family::reed, 0},
                           Kind{"cornopean", Family::reed, 0},
                           Kind{"horn", Family::reed, 0},
                           Kind{"clarinet", Family::reed, 0},
                           Kind{"cremona", Family::reed, 0},
                           Kind{"tromba", Family::reed, 0},
                           Kind{"tuba", Family::reed, 0},
                           Kind{"vox", Family::reed, 0},
                           Kind{"clarion", Family::reed, 12},
                           Kind{"trombone", Family::reed, -12},
                           Kind{"posaune", Family::reed, -12},
                           Kind{"ophicleide", Family::reed, -12},
                           Kind{"contra", Family::reed, -12},
                           Kind{"celeste", Family::string, 0}};

// Words beside a stop's name that name none.
constexpr std::array<std::string_view, 18> beside{"ft",    "feet", "foot",  "only", "solo",    "soft",
                                                  "light", "stop", "stops", "no",   "prepare", "prep",
                                                  "and",   "with", "a",     "the",  "or",      "in"};

bool among(std::string_view word, std::initializer_list<std::string_view> any) {
  return std::find(any.begin(), any.end(), word) != any.end();
}

// 8, 8ft: feet; nothing where it is no pitch a single stop has.
std::optional<int> pitch(std::string_view word) {
  if (word.size() > 2 && word.substr(word.size() - 2) == "ft") word.remove_suffix(2);
  constexpr std::array<std::pair<std::string_view, int>, 6> feet{
      {{"32", -24}, {"16", -12}, {"8", 0}, {"4", 12}, {"2", 24}, {"1", 36}}};
  for (const auto& [text, semitones] : feet) {
    if (text == word) return semitones;
  }
  return std::nullopt;
}

bool is_mixture(const Stop& s) { return s.mixture_ranks > 0 || s.feet.empty(); }
bool at_pitch(const Stop& s, int semitones) {
  return !is_mixture(s) && s.feet.size() == 1 && s.feet.front().semitones() == semitones;
}

std::vector<std::string> small_words(std::string_view name) {
  std::vector<std::string> out;
  std::string word;
  for (const char c : std::string(name) + " ") {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0) {
      word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (!word.empty()) {
      out.push_back(std::move(word));
      word.clear();
    }
  }
  return out;
}

// "Diapasons" for "Diapason", "Princ." for "Principal".
bool same_word(std::string_view own, std::string_view said) {
  if (own.size() < 3 || said.size() < 3) return false;
  if (said.back() == 's') said.remove_suffix(1);
  return own.rfind(said, 0) == 0 || said.rfind(own, 0) == 0;
}

// One stop or family as it is named.
struct Name {
  std::vector<std::string> words;
  std::optional<int> semitones;
  [[nodiscard]] bool empty() const { return words.empty() && !semitones; }
};

std::vector<Name> names(const CopyTokens& words) {
  std::vector<Name> out(1);
  for (const std::string& w : words) {
    if (w == "&" || w == "+" || w == "/" || w == "and" || w == "with") {
      out.emplace_back();
    } else if (const auto semitones = pitch(w)) {
      if (out.back().semitones) out.emplace_back();
      out.back().semitones = semitones;
    } else if (std::find(beside.begin(), beside.end(), w) == beside.end() && copy_division(w).empty() && w.size() > 1) {
      if (out.back().semitones) out.emplace_back();
      out.back().words.push_back(w);
    }
  }
  std::erase_if(out, [](const Name& n) { return n.empty(); });
  return out;
}

class Finder {
 public:
  Finder(const Organ& organ, std::optional<DivisionIndex> division) : organ_(organ) {
    for (std::size_t i = 0; i < organ.stops.size(); ++i) {
      if (!division || organ.stops[i].division == *division) in_.push_back(static_cast<StopIndex>(i));
    }
  }

  // Nothing where the words name no stop at all and only known ones count.
  [[nodiscard]] std::optional<CopyStop> find(const Name& n, bool known) const {
    CopyStop out;
    for (const std::string& w : n.words) out.name += (out.name.empty() ? "" : " ") + w;
    if (n.semitones) out.name += (out.name.empty() ? "" : " ") + to_string_feet(*n.semitones);
    if (n.words.empty()) {
      out.stops = having([&](const Stop& s) { return s.family != Family::reed && at_pitch(s, *n.semitones); });
      return out;
    }
    out.foundations = among(n.words.back(), {"diapasons", "diaps", "foundation", "foundations"});
    if (const auto family = whole_family(n.words.back())) {
      out.stops = having([&](const Stop& s) {
        return !is_mixture(s) && s.family == *family && (!n.semitones || at_pitch(s, *n.semitones));
      });
      return out;
    }
    if (among(n.words.back(), {"mixture", "mixtures", "mixt", "mix"})) {
      out.stops = having(is_mixture);
      return out;
    }
    out.stops = called(n);
    if (out.here()) return out;
    const Kind* kind = kind_of(n.words);
    if (kind == nullptr && !n.semitones) {
      if (known) return std::nullopt;
      return out;
    }
    if (kind == nullptr) return out;
    const int semitones = n.semitones.value_or(kind->semitones);
    out.instead = true;
    const auto like = [&](bool family) {
      return having([&](const Stop& s) {
        return (family ? s.family == kind->family : s.family != Family::reed) && !s.celeste && !is_mixture(s) &&
               ((family && semitones == any_pitch) || at_pitch(s, semitones));
      });
    };
    out.stops = like(true);
    // A Gemshorn for a 4 ft flute rather than none; no flue for a reed.
    if (!out.here() && kind->family != Family::reed) out.stops = like(false);
    return out;
  }

 private:
  static std::string to_string_feet(int semitones) { return to_string(Feet{Rational{8} * power(-semitones / 12)}); }
  static Rational power(int octaves) {
    return octaves >= 0 ? Rational{std::int64_t{1} << octaves} : Rational{1, std::int64_t{1} << -octaves};
  }
  template <class Is>
  [[nodiscard]] std::vector<StopIndex> having(const Is& is) const {
    std::vector<StopIndex> out;
    for (const StopIndex i : in_) {
      if (is(organ_.stops[static_cast<std::size_t>(i)])) out.push_back(i);
    }
    return out;
  }
  static std::optional<Family> whole_family(std::string_view word) {
    if (among(word, {"reed", "reeds"})) return Family::reed;
    if (among(word, {"flutes"})) return Family::flute;
    if (among(word, {"string", "strings"})) return Family::string;
    return std::nullopt;
  }
  // Those that most of the words fit; "foundations" are the diapasons.
  [[nodiscard]] std::vector<StopIndex> called(const Name& n) const {
    std::vector<StopIndex> best;
    int most = 1;
    for (const StopIndex i : in_) {
      const Stop& s = organ_.stops[static_cast<std::size_t>(i)];
      if (n.semitones && !at_pitch(s, *n.semitones)) continue;
      int fits = 0;
      for (const std::string& own : small_words(s.name)) {
        for (const std::string& said : n.words) {
          const bool foundation = said.rfind("foundation", 0) == 0 && own.rfind("diap", 0) == 0;
          fits += same_word(own, said) || foundation;
        }
      }
      if (fits < most) continue;
      if (fits > most) best.clear();
      most = fits;
      best.push_back(i);
    }
    return best;
  }
  static const Kind* kind_of(const std::vector<std::string>& words) {
    for (auto w = words.rbegin(); w != words.rend(); ++w) {
      for (const Kind& k : kinds) {
        if (w->rfind(k.word, 0) == 0) return &k;
      }
    }
    return nullptr;
  }

  const Organ& organ_;
  std::vector<StopIndex> in_;
};

}  // namespace

std::string_view copy_division(std::string_view word) {
  const auto n =
      std::find_if(divisions_named.begin(), divisions_named.end(), [&](const Named& one) { return one.word == word; });
  return n == divisions_named.end() ? std::string_view{} : n->division;
}

std::optional<DivisionIndex> copy_division_of(const Organ& organ, std::string_view division) {
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    for (const std::string& w : small_words(organ.divisions[d].name)) {
      if (copy_division(w) == division) return static_cast<DivisionIndex>(d);
    }
  }
  return std::nullopt;
}

std::vector<CopyStop> copy_stops(const Organ& organ, const CopyTokens& words, std::optional<DivisionIndex> division,
                                 bool known) {
  const Finder finder(organ, division);
  std::vector<CopyStop> out;
  for (const Name& n : names(words)) {
    if (auto found = finder.find(n, known)) out.push_back(std::move(*found));
  }
  return out;
}

}  // namespace calcant
