// From a draft and six answers to a first organ.toml.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "files/specification/printed_line.hpp"
#include "files/specification/specification.hpp"
#include "files/specification/trade.hpp"

namespace calcant {
namespace {

constexpr int bottom = 36;  // C2, the lowest key of every keyboard here

std::string quoted(std::string_view s) {
  std::string out = "\"";
  for (const char c : s) {
    if (c == '"' || c == '\\') out += '\\';
    out += static_cast<unsigned char>(c) < 0x20 || c == 0x7F ? ' ' : c;
  }
  return out + "\"";
}

// A word fit for an id: small letters, figures, hyphens.
std::string slug(std::string_view text, std::string_view otherwise) {
  std::string out;
  for (const char c : trade::folded(text)) out += c == ' ' ? '-' : c;
  out.resize(std::min<std::size_t>(out.size(), 40));
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out.empty() ? std::string{otherwise} : out;
}

std::string prefix(const std::string& division) {
  if (division == "Great") return "gt";
  if (division == "Swell") return "sw";
  if (division == "Choir") return "ch";
  if (division == "Solo") return "so";
  if (division == "Echo") return "ec";
  if (division == "Positive") return "po";
  if (division == "Pedal") return "pd";
  return "mn";
}

std::string assumed_figure(double value, std::string_view basis) {
  return fmt::format("{{ value = {:g}, from = \"assumed\", basis = {} }}", value, quoted(basis));
}

std::string note_range(int low, int high) { return fmt::format("\"{}-{}\"", name(Note{low}), name(Note{high})); }

struct Division {
  const DraftDivision* draft = nullptr;
  std::string id;
  int top = 0;        // of the keys
  int chest_top = 0;  // of the action and its pipes
  bool notes_said = false;
  std::string box;  // id, empty for none
};

struct Pipes {  // one rank
  std::string id;
  std::string name;
  std::size_t division = 0;
  trade::Kind kind;
  std::vector<std::pair<int, Feet>> breaks;
  int low = bottom;
  int high = 91;
  std::string partner;
};

struct Knob {
  std::string id;
  const DraftStop* draft = nullptr;
  std::size_t division = 0;
  trade::Kind kind;
  std::vector<Feet> feet;
  bool feet_said = true;
  int mixture_ranks = 0;
  std::vector<std::size_t> ranks;  // own
  int from = bottom;
  bool from_said = true;
  std::optional<std::size_t> bass;  // lender's rank
  bool shares = false;              // uses another stop's rank
};

class Writing {
 public:
  Writing(const Draft& draft, const SixAnswers& answers, bool invented) : d_(draft), a_(answers), invented_(invented) {}

  std::string text() {
    plan_divisions();
    plan_stops();
    lend();
    celestes();
    head();
    keyboards();
    divisions();
    ranks();
    stops();
    couplers();
    accessories();
    house();
    return std::move(out_);
  }

 private:
  template <class... Args>
  void put(fmt::format_string<Args...> format, Args&&... args) {
    out_ += fmt::format(format, std::forward<Args>(args)...);
    out_ += '\n';
  }

  static std::string fresh(const std::string& id, std::set<std::string>& used) {
    std::string unique = id;
    for (int n = 2; !used.insert(unique).second; ++n) unique = fmt::format("{}-{}", id, n);
    return unique;
  }

  void plan_divisions() {
    std::size_t boxes = 0;
    for (const DraftDivision& draft : d_.divisions) {
      Division v;
      v.draft = &draft;
      v.id = slug(draft.name, "division");
      const std::optional<int> answered = draft.pedal ? a_.pedal_notes : a_.manual_notes;
      const std::optional<int> everywhere = draft.pedal ? d_.pedal_notes : d_.manual_notes;
      const std::optional<int> said = answered ? answered : draft.notes ? draft.notes : everywhere;
      v.notes_said = said.has_value();
      v.top = bottom - 1 + std::clamp(said.value_or(draft.pedal ? 30 : 56), 24, 73);
      v.chest_top = v.top;
      const bool octave = std::any_of(d_.couplers.begin(), d_.couplers.end(),
                                      [&](const DraftCoupler& c) { return c.to == draft.name && c.semitones > 0; });
      if (octave && a_.octaves_extended.value_or(false)) v.chest_top += 12;
      if (draft.enclosed && !draft.pedal && boxes < max_boxes) {
        v.box = v.id + "-box";
        ++boxes;
      }
      divisions_.push_back(std::move(v));
    }
  }

  bool begins_at_tenor_c(const DraftStop& s, const Division& v) const {
    const std::string own = trade::folded(s.name);
    const std::string full = trade::folded(v.draft->name + " " + s.name);
    return std::any_of(a_.from_tenor_c->begin(), a_.from_tenor_c->end(), [&](const std::string& named) {
      const std::string n = trade::folded(named);
      if (n == own || n == full) return true;
      // A length may have been written behind the name.
      const auto bare = printed::stop(named, false);
      return bare && (trade::folded(bare->name) == own || trade::folded(bare->name) == full);
    });
  }

  void plan_stops() {
    for (std::size_t i = 0; i < divisions_.size(); ++i) {
      const Division& v = divisions_[i];
      for (const DraftStop& s : v.draft->stops) {
        if (s.prepared_for) continue;
        Knob k;
        k.draft = &s;
        k.division = i;
        k.kind = trade::kind_of(s.name, v.draft->pedal);
        if (!s.material.empty()) k.kind.material = s.material;
        k.id = fresh(prefix(v.draft->name) + "-" + slug(s.name, "stop"), stop_ids_);
        const int notes = v.top - bottom + 1;
        if (s.from) k.from = s.from->midi;
        else if (s.pipes && *s.pipes == notes - 12) k.from = 48;
        else if (a_.from_tenor_c) k.from = begins_at_tenor_c(s, v) ? 48 : bottom;
        else {
          k.from = k.kind.celeste ? 48 : bottom;
          k.from_said = false;
        }
        std::vector<Feet> lengths = s.feet;
        if (s.mixture_ranks > 0 || (lengths.empty() && trade::is_mixture(s.name))) {
          lengths = trade::mixture_lengths(s.name, s.mixture, s.mixture_ranks);
          k.mixture_ranks = std::max(s.mixture_ranks, static_cast<int>(lengths.size()));
        } else {
          if (lengths.empty()) {
            k.feet_said = false;
            lengths = {parse_feet(k.kind.feet).value_or(Feet{})};
          }
          k.feet = lengths;
        }
        const bool thirds = std::any_of(lengths.begin(), lengths.end(), [](Feet f) {
          return f == Feet{Rational{8, 5}};
        });
        const bool breaks = k.mixture_ranks > 0 && !thirds && !v.draft->pedal;
        int top = v.chest_top;
        if (s.pipes && *s.pipes == notes + 12) top = std::max(top, v.top + 12);
        for (std::size_t r = 0; r < lengths.size(); ++r) {
          Pipes p;
          p.id = fresh(lengths.size() == 1 ? k.id : fmt::format("{}-rank-{}", k.id, r + 1), rank_ids_);
          p.name = lengths.size() == 1 ? s.name : fmt::format("{}, rank {}", s.name, r + 1);
          p.division = i;
          p.kind = k.kind;
          p.low = k.from;
          p.high = top;
          p.breaks = {{k.from, lengths[r]}};
          if (breaks) {
            p.breaks.emplace_back(60, trade::broken(lengths[r], 1));
            p.breaks.emplace_back(78, trade::broken(lengths[r], 2));
            std::erase_if(p.breaks, [&](const auto& b) { return b.first > p.high; });
          }
          k.ranks.push_back(ranks_.size());
          ranks_.push_back(std::move(p));
        }
        knobs_.push_back(std::move(k));
      }
    }
  }

  // The stop of this name, in the same division first; not a compound one and not one that borrows itself.
  std::optional<std::size_t> lender(const Knob& of, const std::string& called) const {
    const auto parsed = printed::stop(called, false);
    const std::string wanted = trade::folded(parsed ? parsed->name : called);
    std::optional<std::size_t> elsewhere;
    for (std::size_t i = 0; i < knobs_.size(); ++i) {
      const Knob& k = knobs_[i];
      const bool alone = k.ranks.size() == 1 && k.feet.size() == 1 && k.draft->rank_of.empty();
      if (&k == &of || !alone || trade::folded(k.draft->name) != wanted) continue;
      if (k.division == of.division) return i;
      if (!elsewhere) elsewhere = i;
    }
    return elsewhere;
  }

  void lend() {
    for (Knob& k : knobs_) {
      if (k.ranks.size() != 1 || k.feet.size() != 1) continue;
      if (!k.draft->rank_of.empty()) {
        if (const auto from = lender(k, k.draft->rank_of)) share(k, knobs_[*from]);
      }
      if (k.from > bottom && !k.draft->bass_from.empty() && !k.shares) {
        if (const auto from = lender(k, k.draft->bass_from); from && reaches_bass(k, knobs_[*from])) {
          k.bass = knobs_[*from].ranks.front();
        }
      }
    }
  }

  bool reaches_bass(const Knob& k, const Knob& from) const {
    const Pipes& rank = ranks_[from.ranks.front()];
    const int step = k.feet.front().semitones() - from.feet.front().semitones();
    return step >= -24 && step <= 24 && rank.low - step <= k.from - 1 && rank.high - step >= bottom;
  }

  void share(Knob& k, const Knob& from) {
    Pipes& rank = ranks_[from.ranks.front()];
    const int step = k.feet.front().semitones() - from.feet.front().semitones();
    const int high = std::max(rank.high, divisions_[k.division].top + step);
    const bool fits = step >= -24 && step <= 36 && high - rank.low < 97 && high <= highest_midi;
    if (!fits || rank.low - step > divisions_[k.division].top || k.from > bottom) return;
    rank.high = high;
    dropped_.insert(k.ranks.front());
    k.ranks = from.ranks;
    k.shares = true;
  }

  void celestes() {
    for (const Knob& k : knobs_) {
      if (!k.kind.celeste || k.shares || k.ranks.size() != 1) continue;
      for (const Knob& other : knobs_) {
        const bool beats = other.division == k.division && !other.kind.celeste && other.ranks.size() == 1 &&
                           !other.shares && other.feet == k.feet && other.kind.family == "string";
        if (beats && ranks_[k.ranks.front()].partner.empty()) {
          ranks_[k.ranks.front()].partner = ranks_[other.ranks.front()].id;
        }
      }
    }
  }

  void head() {
    const std::string title = d_.title.empty() ? "An organ from its printed specification" : d_.title;
    put("# {}", printed::cleaned(title));
    put("#");
    put("# Made from a printed specification. What it said stands here as it was; everything else is marked "
        "\"assumed\" and is");
    put("# what such an organ usually has. Correct it line by line: a plain number means that you know it. Nothing "
        "ever rewrites");
    put("# this file but you.");
    if (!d_.unread.empty()) {
      put("#");
      put("# Lines of the specification that were not read:");
      for (std::size_t i = 0; i < std::min<std::size_t>(d_.unread.size(), 200); ++i) {
        put("#   {}: {}", d_.unread[i].line, printed::cleaned(d_.unread[i].text));
      }
    }
    for (const Division& v : divisions_) {
      for (const DraftStop& s : v.draft->stops) {
        if (s.prepared_for)
          put("# Prepared for, without pipes, and so left out: {}: {}", v.draft->name, printed::cleaned(s.name));
      }
    }
    put("\nversion = 1\n");
    put("[organ]");
    put("id = \"{}\"", slug(d_.title, "organ"));
    put("name = {}", quoted(title));
    if (invented_) put("invented = true");
    put("");
    put("[pitch]");
    if (a_.pitch) put("a_hz = {:g}", std::clamp(a_.pitch->value(), 370.0, 500.0));
    else put("a_hz = {}", assumed_figure(440, "usual pitch"));
    if (a_.pitch_at) put("at_celsius = {:g}", std::clamp(a_.pitch_at->value(), -10.0, 40.0));
    else put("at_celsius = {}", assumed_figure(15, "a church in use"));
    put("temperament = \"equal\"   # assumed\n");
  }

  void keyboards() {
    put("# --- Keyboards ---\n");
    for (const Division& v : divisions_) {
      put("[[keyboard]]\nid = \"{}\"\nname = {}", v.id, quoted(v.draft->name));
      if (v.draft->pedal) put("pedal = true");
      put("keys = {}{}\n", note_range(bottom, v.top), v.notes_said ? "" : "   # assumed: the compass was not said");
    }
  }

  void divisions() {
    put("# --- Divisions, their swell boxes and chests ---\n");
    for (const Division& v : divisions_) {
      put("[[division]]\nid = \"{}\"\nname = {}", v.id, quoted(v.draft->name));
      put("notes = {}{}", note_range(bottom, v.chest_top),
          v.chest_top > v.top ? "   # beyond the keys, for the octave coupler" : "");
      if (!v.box.empty()) put("box = \"{}\"", v.box);
      put("\n[[chest]]\nid = \"{0}\"\nname = {1}\ndivision = \"{0}\"", v.id, quoted(v.draft->name + " chest"));
      put("wind_mm = {}", assumed_figure(75, "English parish organs, 65 to 90 mm"));
      put("trunk = \"{}\"   # assumed\n", v.draft->pedal ? "pedal" : "main");
    }
    const std::optional<SwellPedal> pedal = a_.swell_pedal ? a_.swell_pedal : d_.swell_pedal;
    for (const Division& v : divisions_) {
      if (v.box.empty()) continue;
      const bool lever = pedal.value_or(SwellPedal::lever) == SwellPedal::lever;
      put("[[box]]\nid = \"{}\"\nname = {}", v.box, quoted(v.draft->name + " box"));
      put("pedal = \"{}\"{}", lever ? "lever" : "balanced", pedal ? "" : "   # assumed");
      if (lever) put("hitches = [0, 1]   # assumed: it rests shut and open");
      put("attenuation_db = {{ value = [4, 5, 7, 9, 12, 15, 17, 18], from = \"assumed\", basis = \"a usual parish "
          "swell box\" }}\n");
    }
  }

  void ranks() {
    put("# --- Ranks: the pipes. Kind and scale are what a stop of that name usually has ---\n");
    for (std::size_t i = 0; i < ranks_.size(); ++i) {
      if (dropped_.count(i) != 0) continue;
      const Pipes& p = ranks_[i];
      const std::string_view basis = p.kind.known ? "usual for its name" : "a name not known: taken for a principal";
      put("[[rank]]\nid = \"{}\"\nname = {}\nchest = \"{}\"", p.id, quoted(p.name), divisions_[p.division].id);
      put("family = \"{}\"   # assumed, {}", p.kind.family, basis);
      put("form = \"{}\"", p.kind.form);
      put("material = \"{}\"", p.kind.material);
      put("notes = {}", note_range(p.low, p.high));
      const bool breaks =
          std::any_of(p.breaks.begin(), p.breaks.end(), [&](const auto& b) { return b.second != p.breaks[0].second; });
      if (breaks) {
        std::string list;
        for (const auto& [key, feet] : p.breaks) {
          list += fmt::format("{}\"{}\" = \"{}\"", list.empty() ? "" : ", ", name(Note{key}), to_string(feet));
        }
        put("breaks = {{ {} }}   # assumed", list);
      } else {
        put("feet = \"{}\"", to_string(p.breaks.front().second));
      }
      put("half_tones = {}", assumed_figure(p.kind.half_tones, basis));
      put("mouth = {}", assumed_figure(p.kind.mouth, basis));
      put("cut_up = {}", assumed_figure(p.kind.cut_up, basis));
      put("loudness_db = {}", assumed_figure(p.kind.loudness_db, basis));
      if (!p.partner.empty()) {
        put("offset_cents = {}", assumed_figure(9, "tuned sharp of its partner"));
        put("partner = \"{}\"", p.partner);
      }
      put("");
    }
  }

  void stops() {
    put("# --- Stops: the knobs ---\n");
    for (const Knob& k : knobs_) {
      put("[[stop]]\nid = \"{}\"\nname = {}", k.id, quoted(k.draft->name));
      if (!k.draft->remark.empty()) put("# printed: {}", printed::cleaned(k.draft->remark));
      if (k.mixture_ranks > 0) {
        put("mixture_ranks = {}", k.mixture_ranks);
      } else {
        std::string list;
        for (const Feet f : k.feet) list += (list.empty() ? "\"" : ", \"") + to_string(f) + "\"";
        put("feet = {}{}", k.feet.size() == 1 ? list : "[" + list + "]", k.feet_said ? "" : "   # assumed");
      }
      put("division = \"{}\"", divisions_[k.division].id);
      std::string list;
      for (const std::size_t r : k.ranks) list += (list.empty() ? "\"" : ", \"") + ranks_[r].id + "\"";
      if (k.shares) {
        put("parts = [{{ rank = {}, borrowed = {} }}]", list, ranks_[k.ranks.front()].division != k.division);
      } else {
        put("ranks = [{}]", list);
        if (k.from > bottom) put("from = \"{}\"{}", name(Note{k.from}), k.from_said ? "" : "   # assumed");
        if (k.bass) put("bass = \"{}\"", ranks_[*k.bass].id);
      }
      if (k.kind.celeste) put("celeste = true");
      if (k.kind.solo) put("solo = true");
      put("assumed = true\n");
    }
  }

  void couplers() {
    if (d_.couplers.empty()) return;
    put("# --- Couplers. Try at the console what each carries (one Swell stop drawn: Swell to Great and Swell Octave, "
        "hold a Great");
    put("# key: one pitch or two?), then write the day under \"tried\" ---\n");
    std::vector<std::string> ids;
    std::set<std::string> taken;
    for (const DraftCoupler& c : d_.couplers) {
      std::string id = prefix(c.to);
      if (c.unison_off) id += "-off";
      else if (c.semitones != 0) id += c.semitones > 0 ? "-oct" : "-sub";
      if (c.from != c.to) id += "-" + prefix(c.from);
      ids.push_back(fresh(id, taken));
    }
    for (std::size_t i = 0; i < d_.couplers.size(); ++i) {
      const DraftCoupler& c = d_.couplers[i];
      put("[[coupler]]\nid = \"{}\"\nname = {}", ids[i], quoted(c.name));
      put("from = \"{}\"\nto = \"{}\"", slug(c.from, "division"), slug(c.to, "division"));
      if (c.semitones != 0) put("semitones = {}", c.semitones);
      if (c.unison_off) put("unison_off = true");
      if (!c.unison_off) {
        std::string carried;
        if (c.from != c.to && c.semitones == 0 && a_.couplers_carry.value_or(true) && c.from != "Pedal") {
          for (std::size_t j = 0; j < d_.couplers.size(); ++j) {
            const DraftCoupler& o = d_.couplers[j];
            if (o.from != c.to || o.to != c.to || o.unison_off) continue;
            carried += (carried.empty() ? "\"" : ", \"") + ids[j] + "\"";
          }
        }
        put("carries = [{}]{}", carried, a_.couplers_carry ? "" : "   # assumed");
        put("tried = \"not tried\"");
      }
      put("");
    }
  }

  void accessories() {
    std::set<std::string> used;
    bool any = false;
    const auto accessory = [&](const std::string& id, const std::string& called, const std::string& rest) {
      if (!any) put("# --- Accessories ---\n");
      any = true;
      const std::string unique = fresh(id, used);
      put("[[accessory]]\nid = \"{}\"\nname = {}\n{}\n", unique, quoted(called), rest);
    };
    for (const Division& v : divisions_) {
      if (v.draft->tremulant) {
        accessory(prefix(v.draft->name) + "-tremulant", "Tremulant",
                  fmt::format("kind = \"tremulant\"\ndivision = \"{}\"", v.id));
      }
    }
    for (const std::string& a : d_.accessories) {
      const std::string f = trade::folded(a);
      const bool composition = f.find("composition") != std::string::npos || f.find("piston") != std::string::npos;
      accessory(
          slug(a, "accessory"), a,
          composition ? "kind = \"composition\"\ndraws = []   # write the ids it leaves drawn" : "kind = \"other\"");
    }
  }

  void house() {
    put("# --- Wind, action, church: all assumed until you measure ---\n");
    const double count = static_cast<double>(ranks_.size() - dropped_.size());
    put("[wind]\nblower_l_per_s = {}", assumed_figure(20 * count, "20 litres a second a rank, no source"));
    put("reservoir_m3 = {}\n", assumed_figure(0.08 * count, "80 litres a rank, no source"));
    put("[action]\nkind = \"tubular-pneumatic\"   # assumed");
    put("repeats_per_second = {}\n", assumed_figure(8, "in good order, 6 to 10, from memory"));
    put("[room]");
    if (a_.room) put("volume_m3 = {:g}", std::clamp(a_.room->value(), 20.0, 500000.0));
    else put("volume_m3 = {}", assumed_figure(1500, "a village church"));
    put("\n[[place]]\nid = \"bench\"\nname = \"At the bench\"\nkind = \"bench\"");
    std::string near, far;
    for (const Division& v : divisions_) {
      near += fmt::format("{}{} = {}", near.empty() ? "" : ", ", v.id, assumed_figure(3, "no source"));
      far += fmt::format("{}{} = {}", far.empty() ? "" : ", ", v.id, assumed_figure(12, "no source"));
    }
    put("metres = {{ {} }}\n", near);
    put("[[place]]\nid = \"nave\"\nname = \"In the nave\"\nkind = \"nave\"\nmetres = {{ {} }}", far);
  }

  const Draft& d_;
  const SixAnswers& a_;
  bool invented_;
  std::vector<Division> divisions_;
  std::vector<Pipes> ranks_;
  std::vector<Knob> knobs_;
  std::set<std::size_t> dropped_;  // ranks whose stop uses another's
  std::set<std::string> stop_ids_;
  std::set<std::string> rank_ids_;
  std::string out_;
};

}  // namespace

std::string write_organ_toml(const Draft& draft, const SixAnswers& answers, bool invented) {
  return Writing{draft, answers, invented}.text();
}

}  // namespace calcant
