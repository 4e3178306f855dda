"""The products of a plan, with the laws and numbers that its waits rest on."""

from planner.nouns import product as matter
from planner.nouns.used import UsedLatest, UsedProduct, UsedStage
from planner.planning.problem import Problem, margin_frac


def products_used(problem: Problem) -> tuple[UsedProduct, ...]:
    """Return every product that a task lays or a wait waits for."""
    work = problem.work
    used = {t.product for t in work.tasks if t.product is not None}
    used |= {x.wait.product for x in work.links if x.wait is not None}
    used |= {w.product for r in work.returns for _, w in r.after if w is not None}
    return tuple(product_used(problem, problem.products[id_]) for id_ in sorted(used))


def product_used(problem: Problem, product: matter.Product) -> UsedProduct:
    """Return a product as a plan holds it."""
    limits = product.limits
    return UsedProduct(
        id=product.id,
        title=product.title,
        kind=product.kind,
        thickness_mm=product.thickness_mm,
        min_c=limits.min_c,
        max_c=limits.max_c,
        max_rh_pct=limits.max_rh_pct,
        dew_margin_delta_k=limits.dew_margin_delta_k,
        min_c_before_h=limits.min_c_before_h,
        limits_source=limits.source.text if limits.source else "",
        stages=tuple(
            UsedStage(
                stage=s.stage,
                way=s.way.value,
                law=s.law,
                numbers=dict(s.numbers),
                margin_frac=margin_frac(problem.job, s),
                after=s.after.stage if s.after else None,
                source=s.source.text,
                source_tag=s.source.tag,
            )
            for s in product.stages
        ),
        latest=tuple(
            UsedLatest(
                name=x.name,
                law=x.law,
                numbers=dict(x.numbers),
                then=x.then,
                source=x.source.text,
                source_tag=x.source.tag,
            )
            for x in product.latest
        ),
    )
