"""The queue's settings say what we rely on."""

from celery.app.defaults import NAMESPACES, flatten

from service.settings import Settings
from workers.queue import PLAN, RENDER, make_app


def test_every_setting_is_one_that_celery_knows() -> None:
    known = {*dict(flatten(NAMESPACES)), "deprecated_settings"}  # the last is celery's own note on the others
    assert set(make_app(Settings()).conf.changes) <= known


def test_nothing_but_json_is_taken_and_no_result_is_kept() -> None:
    app = make_app(Settings())
    assert app.conf.accept_content == ["json"]
    assert app.conf.result_backend is None
    assert app.conf.task_ignore_result


def test_a_message_comes_again_only_after_the_longest_task_has_ended() -> None:
    settings = Settings(plan_time_limit_s=240, render_time_limit_s=600)
    again_s = make_app(settings).conf.broker_transport_options["visibility_timeout"]
    assert again_s > settings.render_time_limit_s + 15


def test_each_kind_of_work_has_its_own_queue() -> None:
    routes = make_app(Settings()).conf.task_routes
    assert (routes[PLAN]["queue"], routes[RENDER]["queue"]) == ("compute", "documents")
