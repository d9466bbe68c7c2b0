// SPDX-License-Identifier: GPL-3.0-or-later
// Precompiled for the editor's tests.
#pragma once

#include "support/catch.h"

#include <QtTest>
#include <QtWidgets>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>
