#include "files/musicxml/document.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <map>

#include "engine/quantity/typed.hpp"
#include "files/musicxml/limits.hpp"

namespace calcant::musicxml {
namespace {

std::size_t line_at(std::string_view text, std::ptrdiff_t offset) {
  const auto end = static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(offset, 0, std::ssize(text)));
  return 1 + static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(end), '\n'));
}

// The first element that lies too deep, without recursion.
pugi::xml_node too_deep(pugi::xml_node root) {
  int depth = 0;
  pugi::xml_node n = root;
  while (n) {
    if (depth > deepest) return n;
    if (n.first_child()) {
      n = n.first_child();
      ++depth;
      continue;
    }
    while (n && n != root && !n.next_sibling()) {
      n = n.parent();
      --depth;
    }
    if (!n || n == root) break;
    n = n.next_sibling();
  }
  return {};
}

}  // namespace

std::optional<Rational> decimal(std::string_view text) {
  text = trimmed(text);
  bool negative = false;
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) {
    negative = text.front() == '-';
    text.remove_prefix(1);
  }
  const auto point = text.find('.');
  std::string_view before = text.substr(0, point);
  std::string_view after = point == std::string_view::npos ? std::string_view{} : text.substr(point + 1);
  while (!after.empty() && after.back() == '0') after.remove_suffix(1);
  while (before.size() > 1 && before.front() == '0') before.remove_prefix(1);
  if ((before.empty() && after.empty()) || before.size() > 9 || after.size() > 6) return std::nullopt;
  std::int64_t num = 0;
  std::int64_t den = 1;
  for (const char c : before) {
    if (c < '0' || c > '9') return std::nullopt;
    num = num * 10 + (c - '0');
  }
  for (const char c : after) {
    if (c < '0' || c > '9') return std::nullopt;
    num = num * 10 + (c - '0');
    den *= 10;
  }
  return Rational{negative ? -num : num, den};
}

std::optional<int> whole(std::string_view text, int least, int most) {
  text = trimmed(text);
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  int v = 0;
  const auto [end, ec] = std::from_chars(text.data(), text.data() + text.size(), v);
  if (ec != std::errc{} || end != text.data() + text.size() || v < least || v > most) return std::nullopt;
  return v;
}

std::optional<Rational> type_length(std::string_view type, int dots) {
  struct Named {
    std::string_view name;
    Rational length;
  };
  static const std::array<Named, 14> types{{{"quarter", Rational{1}},
                                            {"eighth", Rational{1, 2}},
                                            {"16th", Rational{1, 4}},
                                            {"half", Rational{2}},
                                            {"whole", Rational{4}},
                                            {"32nd", Rational{1, 8}},
                                            {"64th", Rational{1, 16}},
                                            {"128th", Rational{1, 32}},
                                            {"256th", Rational{1, 64}},
                                            {"512th", Rational{1, 128}},
                                            {"1024th", Rational{1, 256}},
                                            {"breve", Rational{8}},
                                            {"long", Rational{16}},
                                            {"maxima", Rational{32}}}};
  const auto found = std::find_if(types.begin(), types.end(), [&](const Named& n) { return n.name == type; });
  if (found == types.end()) return std::nullopt;
  const std::int64_t halves = std::int64_t{1} << std::clamp(dots, 0, 10);
  return found->length * (Rational{2} - Rational{1, halves});
}

Result<Document> Document::load(std::string_view text, std::string_view filename) {
  Document d;
  d.text_ = text;
  d.filename_ = std::string(filename);
  const pugi::xml_parse_result parsed =
      d.doc_.load_buffer(text.data(), text.size(), pugi::parse_default, pugi::encoding_utf8);
  if (!parsed) {
    return fail(
        fmt::format("this is no well-formed XML ({}); open and save it in a notation program", parsed.description()),
        fmt::format("{}:{}", filename, line_at(text, parsed.offset)));
  }
  const pugi::xml_node root = d.root();
  if (const pugi::xml_node deep = too_deep(root)) {
    return fail(fmt::format("elements lie more than {} deep here; no score does that", deepest), d.where(deep));
  }
  const std::string_view name = root.name();
  Result<void> done;
  if (name == "score-partwise") {
    done = d.partwise();
  } else if (name == "score-timewise") {
    d.timewise_ = true;
    done = d.timewise();
  } else if (name == "opus") {
    return fail("this opus file only lists other files; open the one you want", d.where(root));
  } else {
    return fail(fmt::format("this is no MusicXML score: its outermost element is <{}>, not <score-partwise> or "
                            "<score-timewise>",
                            name.substr(0, 60)),
                d.where(root));
  }
  if (!done) return tl::unexpected(done.error());
  if (d.bars_ > most_bars || d.ids_.size() > most_parts) {
    return fail(fmt::format("the score has {} bars in {} parts; at most {} and {} are read", d.bars_, d.ids_.size(),
                            most_bars, most_parts),
                d.filename_);
  }
  if (d.bars_ == 0) return fail("the score has no bars", d.where(root));
  return d;
}

Result<void> Document::partwise() {
  for (const pugi::xml_node part : root().children("part")) {
    ids_.emplace_back(part.attribute("id").value());
    auto& own = measures_.emplace_back();
    for (const pugi::xml_node m : part.children("measure")) own.push_back(m);
    bars_ = std::max(bars_, own.size());
    if (ids_.size() > most_parts) break;
  }
  return {};
}

Result<void> Document::timewise() {
  std::map<std::string, std::size_t> index;
  for (const pugi::xml_node m : root().children("measure")) {
    for (const pugi::xml_node part : m.children("part")) {
      const std::string id = part.attribute("id").value();
      const auto [at, fresh] = index.try_emplace(id, ids_.size());
      if (fresh) {
        if (ids_.size() >= most_parts) return fail("the score has too many parts", where(part));
        ids_.push_back(id);
        measures_.emplace_back();
      }
      auto& own = measures_[at->second];
      if (own.size() > bars_) return fail(fmt::format("part \"{}\" stands twice in one measure", id), where(part));
      own.resize(bars_);
      own.push_back(part);
    }
    if (++bars_ > most_bars) break;
  }
  return {};
}

pugi::xml_node Document::measure(std::size_t part, std::size_t bar) const {
  return bar < measures_[part].size() ? measures_[part][bar] : pugi::xml_node{};
}

pugi::xml_node Document::header(std::size_t part, std::size_t bar) const {
  const pugi::xml_node m = measure(part, bar);
  return timewise_ ? m.parent() : m;
}

std::string Document::where(pugi::xml_node node) const {
  return fmt::format("{}:{}", filename_, line_at(text_, node.offset_debug()));
}

std::optional<Rational> Clock::duration_of(pugi::xml_node child) const {
  const auto d = decimal(child.child_value("duration"));
  if (!d || *d < Rational{}) return std::nullopt;
  return *d / divisions_;
}

Rational Clock::take(pugi::xml_node child, std::string& fault) {
  const std::string_view name = child.name();
  const Rational here = now_;
  if (name == "note") {
    length_ = Rational{};
    if (child.child("grace")) return now_;
    auto d = child.child("duration") ? duration_of(child) : std::nullopt;
    if (child.child("duration") && !d) fault = "a note's <duration> is no number that can be used";
    if (!d) {
      // Not allowed, but met: the printed value says how long it is.
      int dots = 0;
      for ([[maybe_unused]] const auto& dot : child.children("dot")) ++dots;
      d = type_length(child.child_value("type"), dots);
      const auto actual = whole(child.child("time-modification").child_value("actual-notes"), 1, 1000);
      const auto normal = whole(child.child("time-modification").child_value("normal-notes"), 1, 1000);
      if (d && actual && normal) *d = *d * Rational{*normal, *actual};
    }
    length_ = d.value_or(Rational{});
    if (child.child("chord")) {
      furthest_ = std::max(furthest_, last_ + length_);
      return last_;
    }
    last_ = now_;
    now_ += length_;
    furthest_ = std::max(furthest_, now_);
    return last_;
  }
  if (name == "backup" || name == "forward") {
    const auto d = duration_of(child);
    if (!d) {
      fault = fmt::format("a <{}> has no <duration> that can be used", name);
      return here;
    }
    now_ = name == "backup" ? std::max(Rational{}, now_ - *d) : now_ + *d;
    furthest_ = std::max(furthest_, now_);
  } else if (name == "attributes") {
    if (const pugi::xml_node node = child.child("divisions")) {
      const auto d = decimal(node.child_value());
      if (d && *d > Rational{}) divisions_ = *d;
      else fault = "<divisions> must be a number above 0";
    }
  }
  return here;
}

}  // namespace calcant::musicxml
