"""Where the loose modules are sanded."""
