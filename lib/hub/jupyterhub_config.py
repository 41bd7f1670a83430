"""Settings of a JupyterHub for the course: for ``jupyterhub -f``, or beside the settings that a hub already has."""

c = get_config()  # noqa: F821  (JupyterHub hands it in)

# Each start brings the user's own copies of the lessons up to date and begins on the start page.
c.Spawner.cmd = ["/opt/needlework-hub/bin/needlework", "hub-user"]
c.Spawner.environment = {
    # Homework goes out, comes in and goes back through this folder, nbgrader's exchange.
    "NEEDLEWORK_EXCHANGE": "/srv/needlework/exchange",
    # What only the instructor may read; the package that students use is without it.
    "NEEDLEWORK_SOLUTIONS": "/opt/needlework/solutions",
}
# A whole class that starts at once on two cores takes more than the usual minute.
c.Spawner.start_timeout = c.Spawner.http_timeout = 300
c.JupyterHub.concurrent_spawn_limit = 10
# What works a lesson out is ended half an hour after its page was closed.
c.Spawner.args = ["--MappingKernelManager.cull_idle_timeout=1800"]
c.Authenticator.admin_users = {"instructor"}
