"""What a build comes to at the least, added up here by hand."""

from __future__ import annotations

from decimal import Decimal

from compat.trade.least import least
from compat.trade.pricing import Pricer, final_works
from compat.trade.wanting import wanted
from tests.look import check, demo_shop


def test_every_piece_at_its_least_and_all_work() -> None:
    shop = demo_shop()
    checked = check(shop.shop, shop.book, "street-turbo").checked
    found = least(checked)
    assert shop.shop.info is not None
    rates = {code: one.rate for code, one in shop.shop.info.rates.items()}
    rates[shop.shop.info.currency] = Decimal(1)
    total = Decimal(0)
    for want in wanted(checked):
        each = [o.price.amount * rates[o.price.currency] / o.pack for o in shop.shop.parts[want.part].sold_by]
        total += min(each) * want.count
    assert abs(found.parts - total) < Decimal("0.0001")
    family = shop.shop.families[checked.world.settled.variant.family]
    lines = Pricer(shop.shop).works(final_works(checked), family)
    assert found.work == sum(line.amount for line in lines)
    assert found.hours == sum(work.hours_on(family) for work in final_works(checked))
    assert found.whole == found.parts + (found.work or 0)
