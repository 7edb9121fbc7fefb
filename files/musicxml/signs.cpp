#include "files/musicxml/signs.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace calcant::musicxml {
namespace {

constexpr std::size_t most_rounds = 100;

// "1", "1, 2", "1-3", "1.": the rounds an ending is for.
std::vector<int> rounds(std::string_view text) {
  std::vector<int> out;
  int number = 0;
  int from = 0;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    const char c = i < text.size() ? text[i] : ',';
    if (c >= '0' && c <= '9') {
      number = std::min(number * 10 + (c - '0'), 100);
      continue;
    }
    if (number > 0 && c == '-') {
      from = number;
      number = 0;
      continue;
    }
    if (number == 0) continue;
    for (int r = from > 0 ? from : number; r <= number && out.size() < most_rounds; ++r) out.push_back(r);
    number = from = 0;
  }
  return out;
}

// Lower-case letters only: "D. C. al Fine" is "dcalfine".
std::string letters(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c >= 'A' && c <= 'Z') out += static_cast<char>(c + 32);
    else if (c >= 'a' && c <= 'z') out += c;
  }
  return out;
}

bool begins(std::string_view text, std::string_view with) { return text.substr(0, with.size()) == with; }

}  // namespace

void Signs::barline(int bar, pugi::xml_node node, std::vector<std::string>& remarks, std::string_view label) {
  const auto b = static_cast<std::size_t>(bar);
  const std::string_view location = node.attribute("location").as_string("right");
  if (const pugi::xml_node repeat = node.child("repeat")) {
    const std::string_view direction = repeat.attribute("direction").value();
    if (location == "middle") {
      remarks.push_back(fmt::format("A repeat sign in the middle of bar {} was taken at its barline.", label));
    }
    if (direction == "forward" && location == "left") signs_[b].forward = true;
    else if (direction == "forward" && b + 1 < signs_.size()) signs_[b + 1].forward = true;
    else if (direction == "backward" && location == "left" && b > 0) signs_[b - 1].backward = 2;
    else if (direction == "backward") {
      signs_[b].backward = std::max(2, whole(repeat.attribute("times").value(), 1, 100).value_or(2));
    }
  }
  if (const pugi::xml_node ending = node.child("ending")) {
    const std::string_view type = ending.attribute("type").value();
    if (type == "start") {
      opened_[b] = rounds(ending.attribute("number").value());
      if (opened_[b].empty()) opened_[b] = rounds(ending.child_value());
      if (opened_[b].empty()) opened_[b] = {1};
    } else {
      closed_[b] = true;
    }
  }
  const Rational at = location == "left" ? Rational{} : Rational{1'000'000};
  for (const std::string_view sign : {"segno", "coda"}) {
    const bool segno = sign == "segno";
    const pugi::xml_attribute named = node.attribute(sign.data());
    if (named) sounded_.push_back({segno ? What::segno : What::coda, bar, at, named.value()});
    else if (node.child(sign.data())) printed(bar, at, sign);
  }
}

void Signs::sound(int bar, Rational at, pugi::xml_node node) {
  struct Named {
    const char* name;
    What what;
  };
  for (const Named n :
       {Named{"segno", What::segno}, Named{"coda", What::coda}, Named{"tocoda", What::to_coda},
        Named{"dalsegno", What::dal_segno}, Named{"dacapo", What::da_capo}, Named{"fine", What::fine}}) {
    const pugi::xml_attribute a = node.attribute(n.name);
    if (!a || std::string_view(a.value()) == "no") continue;
    sounded_.push_back({n.what, bar, at, a.value()[0] == '\0' ? "1" : a.value()});
  }
  if (std::string_view(node.attribute("forward-repeat").value()) == "yes") {
    signs_[static_cast<std::size_t>(bar)].forward = true;
  }
}

void Signs::printed(int bar, Rational at, std::string_view sign) {
  printed_.push_back({sign == "segno" ? What::segno : What::coda, bar, at, "1"});
}

void Signs::words(int bar, Rational at, std::string_view text) {
  const std::string said = letters(text);
  if (said == "fine" || said == "fin") printed_.push_back({What::fine, bar, at, "1"});
  else if (begins(said, "tocoda") || begins(said, "alcoda")) printed_.push_back({What::to_coda, bar, at, "1"});
  else if (said == "dc" || begins(said, "dcal") || begins(said, "dacapo"))
    printed_.push_back({What::da_capo, bar, at, "1"});
  else if (said == "ds" || begins(said, "dsal") || begins(said, "dalsegno"))
    printed_.push_back({What::dal_segno, bar, at, "1"});
}

void Signs::put(const Placed& p, const std::vector<Bar>& bars) {
  auto b = static_cast<std::size_t>(p.bar);
  // Signs at the left of a bar that stand at the end of the one before.
  const bool leads = p.what == What::segno || p.what == What::coda;
  if (leads && p.at > Rational{} && p.at >= bars[b].length && b + 1 < bars.size()) ++b;
  switch (p.what) {
    case What::segno: signs_[b].segno = p.label; break;
    case What::coda: signs_[b].coda = p.label; break;
    case What::to_coda: signs_[b].to_coda = p.label; break;
    case What::dal_segno: signs_[b].dal_segno = p.label; break;
    case What::da_capo: signs_[b].da_capo = true; break;
    case What::fine: signs_[b].fine = true; break;
  }
}

std::vector<BarSigns> Signs::signs(const std::vector<Bar>& bars, std::vector<std::string>& remarks) {
  const std::vector<int>* open = nullptr;
  for (std::size_t b = 0; b < signs_.size(); ++b) {
    if (!opened_[b].empty()) {
      open = &opened_[b];
      signs_[b].ending_begins = true;
    }
    if (open != nullptr) signs_[b].endings = *open;
    // A bracket that is never closed ends with its repeat.
    if (closed_[b] || signs_[b].backward > 0) open = nullptr;
  }
  const auto sounded = [&](What w) {
    return std::any_of(sounded_.begin(), sounded_.end(), [&](const Placed& p) { return p.what == w; });
  };
  const bool jumps_sounded = sounded(What::da_capo) || sounded(What::dal_segno);
  for (const Placed& p : sounded_) put(p, bars);
  bool from_words = false;
  const bool jumps = jumps_sounded || std::any_of(printed_.begin(), printed_.end(), [](const Placed& p) {
                       return p.what == What::da_capo || p.what == What::dal_segno;
                     });
  if (jumps) {
    int codas = 0;
    for (const Placed& p : printed_) codas += p.what == What::coda;
    int nth = 0;
    for (Placed p : printed_) {
      const bool jump = p.what == What::da_capo || p.what == What::dal_segno;
      if (jump ? jumps_sounded : sounded(p.what)) {
        nth += p.what == What::coda;
        continue;
      }
      // The first of two coda signs is where one leaves.
      if (p.what == What::coda && codas > 1 && nth++ == 0) {
        if (sounded(What::to_coda)) continue;
        p.what = What::to_coda;
      }
      from_words = from_words || jump;
      put(p, bars);
    }
  }
  if (from_words) remarks.emplace_back("The da capo or dal segno was taken from the printed words.");
  return signs_;
}

}  // namespace calcant::musicxml
