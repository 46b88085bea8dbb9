// A zip or a tar in memory, written by libarchive.
#pragma once

#include <archive.h>
#include <archive_entry.h>

#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace platetally::test {

/// `files` are names with contents; a name that ends with "/" is a folder.
inline std::string make_container(const std::vector<std::pair<std::string, std::string>>& files,
                                  bool tar) {
  std::size_t room = 100'000;
  for (const auto& [name, text] : files)
    room += 2 * text.size() + name.size() + 1000;
  std::string bytes(room, '\0');
  std::size_t used = 0;
  archive* zip = archive_write_new();
  if (tar)
    archive_write_set_format_ustar(zip);
  else
    archive_write_set_format_zip(zip);
  archive_write_open_memory(zip, bytes.data(), bytes.size(), &used);
  for (const auto& [name, text] : files) {
    archive_entry* entry = archive_entry_new();
    archive_entry_set_pathname(entry, name.c_str());
    archive_entry_set_filetype(entry, name.ends_with('/') ? AE_IFDIR : AE_IFREG);
    archive_entry_set_perm(entry, 0644);
    archive_entry_set_size(entry, static_cast<la_int64_t>(text.size()));
    if (archive_write_header(zip, entry) != ARCHIVE_OK ||
        archive_write_data(zip, text.data(), text.size()) < 0)
      throw std::runtime_error("cannot write the zip");
    archive_entry_free(entry);
  }
  archive_write_close(zip);
  archive_write_free(zip);
  bytes.resize(used);
  return bytes;
}

inline std::string make_zip(const std::vector<std::pair<std::string, std::string>>& files) {
  return make_container(files, false);
}
inline std::string make_tar(const std::vector<std::pair<std::string, std::string>>& files) {
  return make_container(files, true);
}

}  // namespace platetally::test
