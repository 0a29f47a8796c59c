// Stills of a case, drawn once: what a folder holds is not drawn again.
#pragma once

#include <filesystem>
#include <functional>

#include "bench/jobs/job_case.h"

namespace rookery::bench {

// As film_case; an empty folder's name: always drawn. The files are this computer's own, and are made anew
// when they are of another length. Throws what is wrong with the case or the folder.
void film_drawn(const JobCase& job, double every_s, const std::filesystem::path& folder,
                const std::function<void(const JobStill&)>& take);

}  // namespace rookery::bench
