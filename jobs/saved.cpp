#include "jobs/saved.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/quantity/nearest.hpp"
#include "files/words/words.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest_name = 60;
constexpr std::size_t longest_text = 4000;

std::string folded(std::string_view text) {
  std::string out;
  for (const char c : text) out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  const auto blank = [](char c) { return c == ' ' || c == '\t'; };
  while (!out.empty() && blank(out.back())) out.pop_back();
  out.erase(out.begin(), std::find_if_not(out.begin(), out.end(), blank));
  return out;
}

std::optional<SavedRegistration> named(const std::vector<SavedRegistration>& saved, std::string_view name) {
  const auto at = std::find_if(saved.begin(), saved.end(),
                               [&](const SavedRegistration& s) { return folded(s.name) == folded(name); });
  return at == saved.end() ? std::nullopt : std::optional{*at};
}

Result<void> check_name(const Organ& organ, const std::string& name) {
  const bool plain = std::none_of(name.begin(), name.end(), [](char c) {
    return c == ',' || c == ';' || c == ':' || c == '=' || (static_cast<unsigned char>(c) < ' ');
  });
  if (folded(name).empty() || name.size() > longest_name || !plain) {
    return fail(fmt::format("'{}' cannot be a registration's name: 1 to {} characters, without , ; : or =",
                            name.substr(0, longest_name), longest_name),
                "NAME");
  }
  if (const auto means = parse_registration(organ, name)) {
    return fail(fmt::format("'{}' already means {}; choose a name that is no stop's or coupler's", name,
                            registration_text(organ, *means)),
                "NAME");
  }
  return {};
}

}  // namespace

Result<SavingDone> save_registration(const OrganContext& context, const SavedRegistration& wanted, bool replace) {
  const Organ& organ = context.described;
  if (const auto fine = check_name(organ, wanted.name); !fine) return tl::unexpected(fine.error());
  if (wanted.remark.size() > longest_text) return fail("the remark is longer than 4000 characters", "--remark");
  const auto drawn = parse_registration(organ, wanted.draw);
  if (!drawn) return tl::unexpected(drawn.error());
  if (drawn->stops.none() && drawn->couplers.none()) {
    return fail("nothing is drawn; name stops and couplers, as calcant spec lists them", "--draw");
  }
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  const auto saved = book->registrations();
  if (!saved) return tl::unexpected(saved.error());
  SavingDone done;
  done.now = wanted;
  done.now.draw = registration_text(organ, *drawn);
  if (const auto there = named(*saved, wanted.name)) {
    if (!replace) {
      return fail(
          fmt::format("'{}' is saved already ({}); choose another name, or add --replace", there->name, there->draw),
          "NAME");
    }
    done.now.name = there->name;
    done.before = there->draw;
  }
  if (const auto kept = book->save(done.now); !kept) return tl::unexpected(kept.error());
  return done;
}

Result<std::vector<SavedRegistration>> saved_registrations(const OrganContext& context) {
  std::error_code none;
  if (!std::filesystem::exists(context.folder / "organ.book", none)) return std::vector<SavedRegistration>{};
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  return book->registrations();
}

Result<SavedRegistration> forget_registration(const OrganContext& context, const std::string& name) {
  const auto saved = saved_registrations(context);
  if (!saved) return tl::unexpected(saved.error());
  const auto there = named(*saved, name);
  if (!there) {
    std::vector<std::string> known;
    for (const SavedRegistration& s : *saved) known.push_back(s.name);
    return fail(fmt::format("no registration is saved as '{}'{}", name.substr(0, longest_name), perhaps(name, known)),
                "NAME");
  }
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto gone = book->forget_registration(there->name); !gone) return tl::unexpected(gone.error());
  return *there;
}

Result<Registration> drawn_registration(const OrganContext& context, const std::string& text) {
  const auto saved = saved_registrations(context);
  if (!saved) return tl::unexpected(saved.error());
  const auto there = named(*saved, text);
  if (!there) return parse_registration(context.organ, text);
  auto drawn = parse_registration(context.organ, there->draw);
  if (drawn) return drawn;
  return fail(fmt::format("the saved registration '{}' does not fit this organ any more: {}", there->name,
                          drawn.error().message));
}

std::string json_text(const std::vector<SavedRegistration>& saved) {
  Json j;
  j["saved"] = Json::array();
  for (const SavedRegistration& s : saved)
    j["saved"].push_back({{"name", s.name}, {"draw", s.draw}, {"saved", s.saved}, {"remark", s.remark}});
  return dump(j);
}

}  // namespace calcant
