package bot

import (
	"context"
	"strconv"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/reply"
)

// foodGroupOrder is the order of the counter in /foods.
var foodGroupOrder = [...]food.Group{
	food.Beef, food.Veal, food.Lamb, food.Pork, food.Game, food.Chicken, food.Turkey, food.Duck,
	food.Fish, food.Shellfish, food.Cephalopod, food.Egg, food.Custard, food.Vegetable, food.Fruit,
}

// perPage is how many foods a page of /foods has: five rows, so that the list fits a screen.
const perPage = 15

// foodGroups is the first page of /foods.
func (t *turn) foodGroups(ctx context.Context) error {
	_, err := t.send(ctx, t.groupsMessage())
	return err
}

func (t *turn) groupsMessage() Message {
	var buttons []Button
	for _, g := range foodGroupOrder {
		buttons = append(buttons, Button{Label: t.lang.GroupName(g), Data: string(actFoods) + string(g)})
	}
	return Message{Text: t.lang.Titled(reply.FoodsGroups, reply.Data{"Count": t.model.Foods().Len()}), Buttons: rows(buttons)}
}

// foodList is a page of the foods of a group, or the groups again.
func (t *turn) foodList(ctx context.Context, group, page string) error {
	if group == "" {
		return t.show(ctx, t.groupsMessage())
	}
	var foods []Button
	for f := range t.model.Foods().All() {
		if string(f.Group) == group {
			foods = append(foods, Button{Label: reply.Capital(t.lang.FoodName(f.ID, 1)), Data: t.packed(actNew, cook.Request{Food: f.ID})})
		}
	}
	if len(foods) == 0 {
		return ErrPacked
	}
	n, _ := strconv.Atoi(page) // nothing is the first page
	if n < 0 || n*perPage >= len(foods) {
		n = 0
	}
	var turnPage []Button
	if n > 0 {
		turnPage = append(turnPage, Button{Label: t.lang.Say(reply.ButtonPrevious, nil), Data: string(actFoods) + group + ":" + strconv.Itoa(n-1)})
	}
	if (n+1)*perPage < len(foods) {
		turnPage = append(turnPage, Button{Label: t.lang.Say(reply.ButtonNext, nil), Data: string(actFoods) + group + ":" + strconv.Itoa(n+1)})
	}
	turnPage = append(turnPage, Button{Label: t.lang.Say(reply.ButtonGroups, nil), Data: string(actFoods)})
	buttons := rows(foods[n*perPage : min(len(foods), (n+1)*perPage)])
	return t.show(ctx, Message{
		Text:    t.lang.Titled(reply.FoodsList, reply.Data{"Group": t.lang.GroupName(food.Group(group))}),
		Buttons: append(buttons, turnPage),
	})
}
