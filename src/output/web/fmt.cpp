// The text formatting library, once: its package holds no compiled form for WebAssembly.
#include <fmt/format-inl.h>

FMT_BEGIN_NAMESPACE
namespace detail {

template std::locale locale_ref::get<std::locale>() const;
template auto dragonbox::to_decimal(float) noexcept -> dragonbox::decimal_fp<float>;
template auto dragonbox::to_decimal(double) noexcept -> dragonbox::decimal_fp<double>;
template auto thousands_sep_impl(locale_ref) -> thousands_sep_result<char>;
template auto decimal_point_impl(locale_ref) -> char;
template void buffer<char>::append(const char*, const char*);
template void vformat_to(buffer<char>&, string_view, basic_format_args<buffer_context<char>>,
                         locale_ref);

}  // namespace detail
FMT_END_NAMESPACE
