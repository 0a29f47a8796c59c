// A station's home folder of a test's own, gone when the test is over.
#pragma once

#include "tests/support/temp_folder.h"

namespace rookery::support {

using HomeFolder = test::TempFolder;

}  // namespace rookery::support
