// Where relative paths begin: the folder that whoever runs the program names in its environment.
#include <unistd.h>

#include <cstdlib>

namespace {

[[gnu::constructor]] void go_to_folder() {
  const char* folder = std::getenv("PWD");
  // A folder that is not there any more: then paths begin at the root.
  if (folder != nullptr && ::chdir(folder) != 0)
    ::chdir("/");
}

}  // namespace
