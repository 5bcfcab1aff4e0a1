"""Every sentence there is."""
