#include "desk/registrants.hpp"

#include <algorithm>

#include "desk/desk.hpp"

namespace calcant::desk {
namespace {

constexpr std::size_t most_kept = 2;  // each may hold a few maps of many megabytes
constexpr std::chrono::milliseconds between_looks{100};

}  // namespace

AskedRegistrant::AskedRegistrant(const std::shared_ptr<const OpenOrgan>& organ)
    : registrant_(std::shared_ptr<const OrganContext>{organ, &organ->context}) {}

std::optional<AskedRegistrant::Turn> AskedRegistrant::turn(const std::shared_ptr<AskedRegistrant>& asked,
                                                           std::chrono::milliseconds most) {
  std::unique_lock lock{asked->busy_, most};
  if (!lock) return std::nullopt;
  return Turn{asked, std::move(lock)};
}

std::optional<AskedRegistrant::Turn> AskedRegistrant::turn(const std::shared_ptr<AskedRegistrant>& asked,
                                                           const Work& work) {
  while (!work.stop.stop_requested()) {
    if (auto mine = turn(asked, between_looks)) return mine;
  }
  return std::nullopt;
}

std::shared_ptr<AskedRegistrant> Registrants::of(const std::string& asked,
                                                 const std::shared_ptr<const OpenOrgan>& organ) {
  // What the ear trial says stands in every answer, and changes without the organ's state.
  const std::string key = asked + "\n" + organ->hash + "\n" + organ->context.heard;
  const std::lock_guard lock{mutex_};
  const auto found = std::find_if(kept_.begin(), kept_.end(), [&](const Kept& k) { return k.key == key; });
  if (found != kept_.end()) {
    std::rotate(kept_.begin(), found, found + 1);
    return kept_.front().registrant;
  }
  // Of the same conditions, what the organ was before is asked no more.
  std::erase_if(kept_, [&](const Kept& k) { return k.key.compare(0, asked.size() + 1, asked + "\n") == 0; });
  if (kept_.size() >= most_kept) kept_.resize(most_kept - 1);
  kept_.insert(kept_.begin(), {key, std::make_shared<AskedRegistrant>(organ)});
  return kept_.front().registrant;
}

}  // namespace calcant::desk
