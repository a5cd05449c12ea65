# The Debian package: cpack -G DEB in a release build, or ./dev deb, which also tries it on a clean root.
# CPack finds the libraries' packages with dpkg-shlibdeps; the font is asked for by name and so named here.
include(GNUInstallDirs)
find_program(GOODSIDE_GZIP gzip)
mark_as_advanced(GOODSIDE_GZIP)

# What is packed is what was built: packing does not build the tests.
set(CMAKE_SKIP_INSTALL_ALL_DEPENDENCY ON)
install(TARGETS goodside RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(FILES packaging/copyright DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/goodside)
if(GOODSIDE_GZIP)
  # -n: without the time of day, so that equal sources pack to equal bytes.
  foreach(page IN ITEMS goodside.1 changelog)
    execute_process(COMMAND "${GOODSIDE_GZIP}" -9nc "${PROJECT_SOURCE_DIR}/packaging/${page}"
      OUTPUT_FILE "${PROJECT_BINARY_DIR}/${page}.gz" COMMAND_ERROR_IS_FATAL ANY)
    set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS packaging/${page})
  endforeach()
  install(FILES "${PROJECT_BINARY_DIR}/goodside.1.gz" DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
  install(FILES "${PROJECT_BINARY_DIR}/changelog.gz" DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/goodside)
endif()

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_CONTACT "goodside maintainers <maintainers@goodside.invalid>")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION sound)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
# The codecs are loaded by name, so that nothing tells of them.
set(CPACK_DEBIAN_PACKAGE_DEPENDS "fonts-dejavu-core, libopencv-imgcodecs406")
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_PACKAGE_DESCRIPTION "Hears a pressed record against its cut: every fault with its time in the programme, \
radius and angle, measures of noise, level and wow, and a verdict against the limits of the works. Vinyl at 33 and 45 \
and shellac-type 78s.")
include(CPack)
