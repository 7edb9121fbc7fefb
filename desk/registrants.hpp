// The registrants of this desk: one for each organ, day and place that was asked about lately, so that a changed wish need not
// weigh the organ again. One question at a time to each.
#pragma once

#include <chrono>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "jobs/registrant.hpp"

namespace calcant::desk {

struct OpenOrgan;

class AskedRegistrant {
 public:
  explicit AskedRegistrant(const std::shared_ptr<const OpenOrgan>& organ);

  // The registrant to oneself; nothing when he was busy for so long, or the work was stopped meanwhile.
  class Turn {
   public:
    [[nodiscard]] Registrant& registrant() const { return asked_->registrant_; }

   private:
    friend class AskedRegistrant;
    Turn(std::shared_ptr<AskedRegistrant> asked, std::unique_lock<std::timed_mutex> lock)
        : asked_(std::move(asked)), lock_(std::move(lock)) {}
    std::shared_ptr<AskedRegistrant> asked_;
    std::unique_lock<std::timed_mutex> lock_;
  };
  [[nodiscard]] static std::optional<Turn> turn(const std::shared_ptr<AskedRegistrant>& asked,
                                                std::chrono::milliseconds most);
  [[nodiscard]] static std::optional<Turn> turn(const std::shared_ptr<AskedRegistrant>& asked, const Work& work);

 private:
  std::timed_mutex busy_;
  Registrant registrant_;
};

class Registrants {
 public:
  // Of an organ opened under these conditions. Another state of the same organ has another; saved registrations make none.
  [[nodiscard]] std::shared_ptr<AskedRegistrant> of(const std::string& asked,
                                                    const std::shared_ptr<const OpenOrgan>& organ);

 private:
  struct Kept {
    std::string key;
    std::shared_ptr<AskedRegistrant> registrant;
  };
  std::mutex mutex_;
  std::vector<Kept> kept_;  // the latest first
};

}  // namespace calcant::desk
