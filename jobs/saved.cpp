#include "jobs/saved.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/typed.hpp"
#include "files/words/words.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest_name = 60;
constexpr std::size_t longest_text = 4000;

std::string folded(std::string_view text) { return lower(trimmed(text)); }

// A box stands where its lever can rest.
Result<Registration> resting(const Organ& organ, Result<Registration> drawn) {
  for (std::size_t b = 0; drawn && b < organ.boxes.size(); ++b) {
    const SwellBox& box = organ.boxes[b];
    const bool rests = box.pedal != SwellPedal::lever || box.hitches.empty() ||
                       std::any_of(box.hitches.begin(), box.hitches.end(),
                                   [&](double h) { return std::abs(h - drawn->box[b]) < 0.005; });
    if (!rests) {
      return fail(fmt::format("the lever of the {} does not stay at {:.3g}; it rests at {}", box.name, drawn->box[b],
                              fmt::join(box.hitches, ", ")));
    }
  }
  return drawn;
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

Result<SavedRegistration> known_as(const std::vector<SavedRegistration>& saved, const std::string& name) {
  if (auto there = saved_as(saved, name)) return std::move(*there);
  std::vector<std::string> known;
  for (const SavedRegistration& s : saved) known.push_back(s.name);
  return fail(fmt::format("no registration is saved as '{}'{}", name.substr(0, longest_name), perhaps(name, known)),
              "NAME");
}

}  // namespace

std::optional<SavedRegistration> saved_as(const std::vector<SavedRegistration>& saved, std::string_view name) {
  const auto at = std::find_if(saved.begin(), saved.end(),
                               [&](const SavedRegistration& s) { return folded(s.name) == folded(name); });
  return at == saved.end() ? std::nullopt : std::optional{*at};
}

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
  if (const auto there = saved_as(*saved, wanted.name)) {
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

Result<SavedRegistration> rename_registration(const OrganContext& context, const std::string& name,
                                              const std::string& to) {
  const auto saved = saved_registrations(context);
  if (!saved) return tl::unexpected(saved.error());
  auto was = known_as(*saved, name);
  if (!was) return was;
  if (const auto fine = check_name(context.described, to); !fine) return tl::unexpected(fine.error());
  const auto there = saved_as(*saved, to);
  if (there && there->name != was->name)
    return fail(fmt::format("'{}' is saved already ({}); choose another name", there->name, there->draw), "NAME");
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto done = book->rename_registration(was->name, to); !done) return tl::unexpected(done.error());
  return was;
}

Result<SavedRegistration> forget_registration(const OrganContext& context, const std::string& name) {
  const auto saved = saved_registrations(context);
  if (!saved) return tl::unexpected(saved.error());
  auto there = known_as(*saved, name);
  if (!there) return there;
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto gone = book->forget_registration(there->name); !gone) return tl::unexpected(gone.error());
  return there;
}

Result<Registration> drawn_registration(const OrganContext& context, const std::string& text) {
  const auto saved = saved_registrations(context);
  if (!saved) return tl::unexpected(saved.error());
  const auto there = saved_as(*saved, text);
  if (!there) {
    auto drawn = resting(context.organ, parse_registration(context.organ, text));
    std::vector<std::string> known;
    for (const SavedRegistration& s : *saved) known.push_back(s.name);
    const bool a_name = text.find_first_of(",:=") == std::string::npos;
    const std::string near = drawn || !a_name ? "" : nearest(text, known);
    if (near.empty()) return drawn;
    return fail(fmt::format("no registration is saved as '{}'; perhaps \"{}\"", text.substr(0, longest_name), near),
                drawn.error().where);
  }
  auto drawn = resting(context.organ, parse_registration(context.organ, there->draw));
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
