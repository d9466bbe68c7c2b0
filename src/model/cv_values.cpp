// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/cv_values.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace fourbeat::model {

namespace {
constexpr int least_high_part = 192;
constexpr int greatest_high_part = 231;
constexpr int full_drive = 255;
constexpr int values = 256;
constexpr int greatest_cv = 1024;

struct Run {
  int first;
  int last;
};
constexpr Run makers_areas[] = {{47, 64}, {112, 256}, {513, 879}};
constexpr Run paged_area{257, 512};
constexpr int first_offered = 112;

bool holds(const Run& run, int number) {
  return number >= run.first && number <= run.last;
}

bool is_taken(const Project& project, int number) {
  return cv_value(project, number).has_value() ||
         std::any_of(project.options.begin(), project.options.end(),
                     [&](const Option& option) { return option.cv == number; });
}
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

CvArea cv_area(int number) {
  if (number < 1 || number > greatest_cv) return CvArea::none;
  if (std::any_of(std::begin(makers_areas), std::end(makers_areas),
                  [&](const Run& run) { return holds(run, number); })) {
    return CvArea::makers;
  }
  return holds(paged_area, number) ? CvArea::paged : CvArea::standard;
}

std::vector<int> free_own_cvs(const Project& project, std::optional<int> own) {
  std::vector<int> numbers;
  for (const Run& run : makers_areas) {
    for (int number = run.first; number <= run.last; ++number) {
      if (number != own && !is_taken(project, number)) numbers.push_back(number);
    }
  }
  if (own) numbers.insert(std::lower_bound(numbers.begin(), numbers.end(), *own), *own);
  return numbers;
}

std::optional<int> next_own_cv(const Project& project) {
  const std::vector<int> numbers = free_own_cvs(project);
  if (numbers.empty()) return std::nullopt;
  const auto found = std::lower_bound(numbers.begin(), numbers.end(), first_offered);
  return found == numbers.end() ? numbers.front() : *found;
}

}  // namespace fourbeat::model
