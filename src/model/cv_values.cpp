// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/cv_values.h"

#include <cmath>

namespace fourbeat::model {

namespace {
constexpr int least_high_part = 192;
constexpr int greatest_high_part = 231;
constexpr int full_drive = 255;
constexpr int values = 256;
}  // namespace

std::optional<int> cv_value(const Project& project, int number) {
  for (const Cv& cv : project.cvs) {
    if (cv.number == number) return cv.value;
  }
  return std::nullopt;
}

std::optional<int> long_address(int cv17, int cv18) {
  if (cv17 < least_high_part || cv17 > greatest_high_part) return std::nullopt;
  if (cv18 < 0 || cv18 >= values) return std::nullopt;
  const int address = (cv17 - least_high_part) * values + cv18;
  if (address < least_long_address) return std::nullopt;
  return address;
}

std::optional<std::pair<int, int>> long_address_cvs(int address) {
  if (address < least_long_address || address > greatest_long_address) return std::nullopt;
  return std::pair(least_high_part + address / values, address % values);
}

SpeedTable speed_table(const Project& project) {
  SpeedTable table;
  for (int step = 0; step < speed_table_steps; ++step) {
    table.at(static_cast<std::size_t>(step)) = cv_value(project, speed_table_first_cv + step);
  }
  return table;
}

int linear_drive(int step) {
  return static_cast<int>(std::lround(static_cast<double>(full_drive) * step / speed_table_steps));
}

}  // namespace fourbeat::model
