#include "engine/room/field.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace calcant {
namespace {

constexpr double least_volume = 10;
constexpr double nearest = 0.3;  // m: no ear is nearer to a pipe than this

Bands assumed_reverberation(double volume) {
  Bands t{2.0, 1.9, 1.8, 1.7, 1.6, 1.45, 1.2, 0.85};
  for (double& seconds : t) seconds *= std::cbrt(volume / 2000);
  return t;
}

}  // namespace

const Bands& person_absorption() {
  static const Bands area{0.20, 0.32, 0.376, 0.464, 0.544, 0.576, 0.544, 0.544};
  return area;
}

Field::Field(const RoomDescription& room) : volume_(std::max(least_volume, room.volume.value())) {
  const double c = speed_of_sound(room.air).value();
  const double sabine = 24 * std::log(10) * volume_ / c;
  const bool from_surfaces = !room.reverberation_measured && !room.surfaces.empty();
  const Bands base = room.reverberation_measured ? room.reverberation : assumed_reverberation(volume_);
  const double persons = std::max(0.0, room.persons);
  double total = 0;
  for (const auto& s : room.surfaces) total += s.area.value();
  for (std::size_t i = 0; i < octave_band_count; ++i) {
    if (from_surfaces && total > 0) {
      double absorbed = persons * person_absorption()[i];
      for (const auto& s : room.surfaces) absorbed += s.area.value() * s.absorption[i];
      const double mean = std::clamp(absorbed / total, 1e-3, 0.99);
      const double air = 4 * absorption_db_per_metre(room.air, Hertz{octave_bands_hz[i]}) / 4.3429 * volume_;
      area_[i] = -total * std::log(1 - mean) + air;
    } else {
      area_[i] = sabine / std::clamp(base[i], 0.05, 60.0) + persons * person_absorption()[i];
    }
    reverberation_[i] = sabine / area_[i];
  }
}

Hertz Field::schroeder() const {
  return Hertz{2000 * std::sqrt((reverberation_[3] + reverberation_[4]) / 2 / volume_)};
}

Decibels Field::transfer(Hertz f, Metres distance) const {
  const double r = std::max(nearest, distance.value());
  const double reverberant =
      4 / at_frequency(area_, f.value()) * std::exp(-0.04 * r / at_frequency(reverberation_, f.value()));
  return power_to_decibels(1 / (4 * std::numbers::pi * r * r) + reverberant);
}

Metres Field::critical_distance(Hertz f) const {
  return Metres{std::sqrt(at_frequency(area_, f.value()) / (16 * std::numbers::pi))};
}

}  // namespace calcant
