// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/realtime_guard.h"

#include <dlfcn.h>
#include <pthread.h>

#include <cstddef>

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define FOURBEAT_SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define FOURBEAT_SANITIZED 1
#endif
#endif
namespace {

thread_local bool watching = false;
thread_local long counted = 0;

void note() {
  if (watching) ++counted;
}

}  // namespace

namespace fourbeat::tests {

RealtimeGuard::RealtimeGuard() {
  counted = 0;
  watching = true;
}
RealtimeGuard::~RealtimeGuard() {
  watching = false;
}
long RealtimeGuard::calls() {
  return counted;
}
bool RealtimeGuard::watches_everything() {
#if defined(FOURBEAT_SANITIZED) || !defined(__GLIBC__)
  return false;
#else
  return true;
#endif
}

}  // namespace fourbeat::tests

#if defined(FOURBEAT_SANITIZED)
// The sanitizers own the allocator and call these on every malloc, new, free and delete.
extern "C" int __sanitizer_install_malloc_and_free_hooks(void (*on_malloc)(const volatile void*,
                                                                           std::size_t),
                                                         void (*on_free)(const volatile void*));

namespace {
const int hooks_installed = __sanitizer_install_malloc_and_free_hooks(
    [](const volatile void* /*memory*/, std::size_t /*size*/) { note(); },
    [](const volatile void* /*memory*/) { note(); });
}  // namespace

#elif defined(__GLIBC__)
// glibc's own entry points, under the names it exports for those who replace them. operator new
// and delete end in them.
extern "C" {
// NOLINTBEGIN(bugprone-reserved-identifier,readability-identifier-naming): glibc's names
void* __libc_malloc(std::size_t size);
void* __libc_calloc(std::size_t count, std::size_t size);
void* __libc_realloc(void* memory, std::size_t size);
void* __libc_memalign(std::size_t alignment, std::size_t size);
void __libc_free(void* memory);
// NOLINTEND(bugprone-reserved-identifier,readability-identifier-naming)

void* malloc(std::size_t size) noexcept {
  note();
  return __libc_malloc(size);
}
void* calloc(std::size_t count, std::size_t size) noexcept {
  note();
  return __libc_calloc(count, size);
}
void* realloc(void* memory, std::size_t size) noexcept {
  note();
  return __libc_realloc(memory, size);
}
void* aligned_alloc(std::size_t alignment, std::size_t size) noexcept {
  note();
  return __libc_memalign(alignment, size);
}
void free(void* memory) noexcept {
  note();
  __libc_free(memory);
}
int pthread_mutex_lock(pthread_mutex_t* mutex) noexcept {
  using Lock = int (*)(pthread_mutex_t*);
  static const Lock real = reinterpret_cast<Lock>(dlsym(RTLD_NEXT, "pthread_mutex_lock"));
  note();
  return real(mutex);
}
}
#endif
