"""Parts put together: the torque recursion, the friction cone, reflected inertia, the shaft table."""
