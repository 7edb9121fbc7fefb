// Registrations a player lives with, saved by name in the organ's book.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.hpp"
#include "engine/organ/registration.hpp"
#include "jobs/context.hpp"

namespace calcant {

// Names are compared without regard to capitals. A name is 1 to 60 characters, without , ; : or =, and not that of a stop
// or coupler, so that it can stand wherever stops are asked for. What is there under the name already is replaced only
// when `replace` says so; `before` is then what it was.
struct SavingDone {
  SavedRegistration now;
  std::string before;  // empty: the name is new
};
[[nodiscard]] Result<SavingDone> save_registration(const OrganContext& context, const SavedRegistration& wanted,
                                                   bool replace);
// Makes no book where there is none.
[[nodiscard]] Result<std::vector<SavedRegistration>> saved_registrations(const OrganContext& context);
// Which of them goes by this name; capitals and blanks at its ends do not matter.
[[nodiscard]] std::optional<SavedRegistration> saved_as(const std::vector<SavedRegistration>& saved,
                                                        std::string_view name);
// The same under another name, in one step: what was saved as `name`, as it was. Refused: a name that is not there, one
// that is taken by another or cannot be a name.
[[nodiscard]] Result<SavedRegistration> rename_registration(const OrganContext& context, const std::string& name,
                                                            const std::string& to);
// Hands back what was forgotten.
[[nodiscard]] Result<SavedRegistration> forget_registration(const OrganContext& context, const std::string& name);

// What `text` draws: a saved registration by its name, or else stops and couplers in words (parse_registration).
[[nodiscard]] Result<Registration> drawn_registration(const OrganContext& context, const std::string& text);

[[nodiscard]] std::string json_text(const std::vector<SavedRegistration>& saved);

}  // namespace calcant
