// What went wrong with disk or database, and what can be done?  The one exception of this layer.
//
//   busy           another process owns the folder, or holds the database too long
//   full           no space; recovers when there is space again
//   io             the disk failed; the writer refuses all further work until opened again
//   damaged        stored bytes are not what was written
//   wrong_version  made by another program or by a newer version of this one
//   out_of_time    a question ran until its deadline (schema/deadline.h); nothing is wrong
//   refused        the fact contradicts the store (attempt exists, NaN, not UTF-8 ...)

#pragma once

#include <stdexcept>
#include <string>

namespace endgate::schema {

class StoreFault : public std::runtime_error {
 public:
  enum class Kind { busy, full, io, damaged, wrong_version, out_of_time, refused };
  StoreFault(Kind kind, const std::string& what) : std::runtime_error(what), kind_(kind) {}
  [[nodiscard]] Kind kind() const { return kind_; }

 private:
  Kind kind_;
};

}  // namespace endgate::schema
