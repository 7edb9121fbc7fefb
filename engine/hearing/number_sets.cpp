#include "engine/hearing/number_sets.hpp"

#include <algorithm>
#include <array>

namespace calcant::hearing {

Curve::Curve(std::span<const Row> rows, bool smooth) : rows_(rows), bend_(rows.size(), 0.0) {
  const std::size_t n = rows.size();
  if (!smooth || n < 3) return;
  // The tridiagonal system for the second derivatives, no bend at the ends.
  std::vector<double> upper(n, 0.0);
  std::vector<double> right(n, 0.0);
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double before = rows[i].x - rows[i - 1].x;
    const double after = rows[i + 1].x - rows[i].x;
    const double turn = (rows[i + 1].y - rows[i].y) / after - (rows[i].y - rows[i - 1].y) / before;
    const double pivot = (before + after) / 3.0 - before / 6.0 * upper[i - 1];
    upper[i] = after / 6.0 / pivot;
    right[i] = (turn - before / 6.0 * right[i - 1]) / pivot;
  }
  for (std::size_t i = n - 1; i-- > 1;) bend_[i] = right[i] - upper[i] * bend_[i + 1];
}

double Curve::at(double x) const {
  if (x <= rows_.front().x) return rows_.front().y;
  if (x >= rows_.back().x) return rows_.back().y;
  const auto above = std::upper_bound(rows_.begin(), rows_.end(), x, [](double v, const Row& r) { return v < r.x; });
  const auto i = static_cast<std::size_t>(above - rows_.begin());
  const Row& low = rows_[i - 1];
  const Row& high = rows_[i];
  const double h = high.x - low.x;
  const double t = (x - low.x) / h;
  const double s = 1.0 - t;
  return s * low.y + t * high.y + ((s * s * s - s) * bend_[i - 1] + (t * t * t - t) * bend_[i]) * h * h / 6.0;
}

namespace {

constexpr Row free_rows[] = {
    {20, 0},       {25, 0},      {31.5, 0},    {40, 0},      {50, 0},       {63, 0},      {80, 0},      {100, 0},
    {125, 0.1},    {160, 0.3},   {200, 0.5},   {250, 0.9},   {315, 1.4},    {400, 1.6},   {500, 1.7},   {630, 2.5},
    {750, 2.7},    {800, 2.6},   {1000, 2.6},  {1250, 3.2},  {1500, 5.2},   {1600, 6.6},  {2000, 12.0}, {2500, 16.8},
    {3000, 15.3},  {3150, 15.2}, {4000, 14.2}, {5000, 10.7}, {6000, 7.1},   {6300, 6.4},  {8000, 1.8},  {9000, -0.9},
    {10000, -1.6}, {11200, 1.9}, {12500, 4.9}, {14000, 2.0}, {15000, -2.0}, {16000, 2.5}, {18000, 2.5}, {20000, 2.5}};
constexpr Row diffuse_rows[] = {
    {20, 0},      {25, 0},      {31.5, 0},    {40, 0},      {50, 0},      {63, 0},      {80, 0},      {100, 0},
    {125, 0.1},   {160, 0.3},   {200, 0.4},   {250, 0.5},   {315, 1.0},   {400, 1.6},   {500, 1.7},   {630, 2.2},
    {750, 2.7},   {800, 2.9},   {1000, 3.8},  {1250, 5.3},  {1500, 6.8},  {1600, 7.2},  {2000, 10.2}, {2500, 14.9},
    {3000, 14.5}, {3150, 14.4}, {4000, 12.7}, {5000, 10.8}, {6000, 8.9},  {6300, 8.7},  {8000, 8.5},  {9000, 6.2},
    {10000, 5.0}, {11200, 4.5}, {12500, 4.0}, {14000, 3.3}, {15000, 2.6}, {16000, 2.0}, {18000, 2.0}, {20000, 2.0}};

constexpr std::array<Row, 39> middle_common = {
    {{20, -39.6},    {25, -32.0},    {31.5, -25.85}, {40, -21.4},   {50, -18.5},    {63, -15.9},    {80, -14.1},
     {100, -12.4},   {125, -11.0},   {160, -9.6},    {200, -8.3},   {250, -7.4},    {315, -6.2},    {400, -4.8},
     {500, -3.8},    {630, -3.3},    {750, -2.9},    {800, -2.6},   {1000, -2.6},   {1250, -4.5},   {1500, -5.4},
     {1600, -6.1},   {2000, -8.5},   {2500, -10.4},  {3000, -7.3},  {3150, -7.0},   {4000, -6.6},   {5000, -7.0},
     {6000, -9.2},   {6300, -10.2},  {8000, -12.2},  {9000, -10.8}, {10000, -10.1}, {11200, -12.7}, {12500, -15.0},
     {14000, -18.2}, {15000, -23.8}, {16000, -32.3}, {20000, 0}}};
constexpr auto with_last_rows(std::array<Row, 39> rows, double at_18k, double at_20k) {
  std::array<Row, 40> all{};
  std::copy(rows.begin(), rows.end() - 1, all.begin());
  all[38] = {18000, at_18k};
  all[39] = {20000, at_20k};
  return all;
}
// The ISO table, as it is quoted, has no row at 18 kHz: the half-way value keeps its straight line.
constexpr auto iso_middle = with_last_rows(middle_common, -38.9, -45.5);
constexpr auto ansi_middle = with_last_rows(middle_common, -45.5, -50.0);

constexpr Row iso_threshold[] = {{50, 27.46}, {63, 23.45}, {80, 18.47}, {100, 15.13}, {125, 11.97}, {160, 9.34},
                                 {200, 7.43}, {250, 5.75}, {315, 4.73}, {400, 3.92},  {500, 3.15}};
constexpr Row ansi_threshold[] = {{50, 28.18}, {63, 23.9}, {80, 19.2}, {100, 15.68}, {125, 12.67}, {160, 10.09},
                                  {200, 8.08}, {250, 6.3}, {315, 5.3}, {400, 4.5},   {500, 3.73}};

constexpr Row iso_a[] = {{-25.0, 7.784}, {-24.5, 7.667}, {-24.0, 7.551}, {-23.5, 7.435}, {-23.0, 7.318}, {-22.5, 7.210},
                         {-22.0, 7.103}, {-21.5, 6.996}, {-21.0, 6.889}, {-20.5, 6.782}, {-20.0, 6.675}, {-19.5, 6.596},
                         {-19.0, 6.517}, {-18.5, 6.438}, {-18.0, 6.360}, {-17.5, 6.281}, {-17.0, 6.202}, {-16.5, 6.124},
                         {-16.0, 6.047}, {-15.5, 5.975}, {-15.0, 5.902}, {-14.5, 5.823}, {-14.0, 5.744}, {-13.5, 5.665},
                         {-13.0, 5.587}, {-12.5, 5.510}, {-12.0, 5.437}, {-11.5, 5.364}, {-11.0, 5.291}, {-10.5, 5.218},
                         {-10.0, 5.145}, {-9.5, 5.086},  {-9.0, 5.027},  {-8.5, 4.972},  {-8.0, 4.918},  {-7.5, 4.863},
                         {-7.0, 4.808},  {-6.5, 4.754},  {-6.0, 4.699},  {-5.5, 4.644},  {-5.0, 4.590},  {-4.5, 4.542},
                         {-4.0, 4.496},  {-3.5, 4.451},  {-3.0, 4.405},  {-2.5, 4.359},  {-2.0, 4.314},  {-1.5, 4.268},
                         {-1.0, 4.222},  {-0.5, 4.177},  {0.0, 4.131}};
constexpr Row ansi_a[] = {{-24.545, 8.852},   {-23.784, 8.6315},  {-22.782, 8.3584},  {-21.769, 8.1012},
                          {-20.744, 7.8585},  {-19.783, 7.65258}, {-18.016, 7.32853}, {-16.211, 6.99954},
                          {-14.593, 6.70559}, {-13.297, 6.46869}, {-12.234, 6.2797},  {-11.239, 6.10719},
                          {-10.292, 5.9464},  {-9.459, 5.8249},   {-8.357, 5.67939},  {-7.383, 5.55322},
                          {-6.606, 5.45402},  {-5.894, 5.36425},  {-4.977, 5.25064},  {-3.629, 5.10314},
                          {-2.500, 4.98203},  {-1.774, 4.90515},  {-1.240, 4.84918},  {-0.757, 4.7989},
                          {-0.355, 4.75736},  {0.0, 4.72096}};

constexpr Row alpha_rows[] = {{-25, 0.26692}, {-20, 0.25016}, {-15, 0.23679},
                              {-10, 0.22228}, {-5, 0.21055},  {0, 0.20000}};

constexpr Row masked_rows[] = {{50, 13.5},  {63, 10.0},  {80, 7.1},   {100, 4.9},  {125, 3.1},
                               {160, 1.5},  {200, 0.4},  {250, -0.5}, {315, -1.3}, {400, -1.9},
                               {500, -2.3}, {630, -2.7}, {800, -2.9}, {1000, -3.0}};

}  // namespace

// ISO divides each ear by an inhibition factor that is 1.33331 in every filter when both ears hear the same
// sound, and 1 when only one hears it.
constinit const NumberTables iso_tables = {iso_middle, iso_threshold, iso_a, 0.0617, 2.0 / 1.33331, false, 4.0};
constinit const NumberTables ansi_tables = {ansi_middle, ansi_threshold, ansi_a, 0.046871, 2.0, true, 2.0};

std::span<const Row> free_field() { return free_rows; }
std::span<const Row> diffuse_field() { return diffuse_rows; }
std::span<const Row> alpha() { return alpha_rows; }
std::span<const Row> masked_threshold() { return masked_rows; }

}  // namespace calcant::hearing
